"""Levels judged by simulated surveys whose truth is drawn by other models than the product's own."""
