"""Figures in sentences, the same to the letter on server and phone."""
