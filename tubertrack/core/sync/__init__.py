"""What travels between phone and server: envelope, verdict, stamp and chain."""
