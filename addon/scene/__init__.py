"""Blender data to finishing data and back."""
