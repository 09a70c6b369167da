"""What happens in the meat: properties from composition, heat, water at the surface."""
