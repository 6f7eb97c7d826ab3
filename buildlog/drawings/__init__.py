"""Drawings for screen and paper: frozen data in, text out."""
