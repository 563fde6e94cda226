"""What each way of storing lost, and how far the figures can be trusted.

Pure functions on plain values. numpy and scipy are imported inside the functions that need them,
so that importing this room costs nothing.
"""
