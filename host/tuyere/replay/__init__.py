"""The same cycles again, bit for bit, with the core that recorded them; or, as a what-if, with today's."""
