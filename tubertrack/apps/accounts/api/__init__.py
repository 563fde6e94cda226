"""Addresses by which people and devices get in, and what is kept off the record log."""
