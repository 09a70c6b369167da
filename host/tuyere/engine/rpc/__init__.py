"""Screens and programs over loopback: JSON-RPC 2.0, one message a line."""
