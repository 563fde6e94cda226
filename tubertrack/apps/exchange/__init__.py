"""Carrying a farm's log out and in, byte for byte."""
