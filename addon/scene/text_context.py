"""Where Blender looks the extension's texts up."""

from __future__ import annotations

CONTEXT = "Body Finishing"
"""Apart from Blender's own texts, which have other meanings for words such as "Normal", "Back", "Feed" or "Fit"."""
