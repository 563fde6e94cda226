"""Set-up on a bare machine: what runs before anything is installed. Standard library only."""
