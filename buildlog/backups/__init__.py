"""Copies of database and secrets that a lead can go back to: made every hour and before every migration, each tried by
restoring it into a place that is thrown away."""
