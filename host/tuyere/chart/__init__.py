"""The trend as a pure function: data, size and palette in, cells out. It loads no screen library."""
