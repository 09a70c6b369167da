"""What is known and said of a cook. Screens, pages, reports and the engine share it; it imports none of them."""
