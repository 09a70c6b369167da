"""The board as this host has it: its port, its newest record, its clock, the orders it gets."""
