"""What may be done next, and what was done."""
