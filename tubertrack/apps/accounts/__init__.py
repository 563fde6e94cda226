"""Farms, the people who work there, their devices and how they sign in."""
