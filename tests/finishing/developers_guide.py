"""The worked examples of DEVELOPERS.md, so that tests can run them as they stand there."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

GUIDE = Path(__file__).parents[2] / "DEVELOPERS.md"


def worked_examples() -> dict[str, str]:
    """Python by heading: every heading of the section "Worked examples" with the one block of Python under it."""
    section = re.search(r"^## Worked examples\n(.*?)(?=^## |\Z)", GUIDE.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE)
    assert section is not None, "DEVELOPERS.md has no section of worked examples"
    examples = {}
    for part in re.split(r"^### ", section.group(1), flags=re.MULTILINE)[1:]:
        heading, text = part.split("\n", 1)
        (examples[heading.strip()],) = re.findall(r"^```python\n(.*?)^```", text, re.DOTALL | re.MULTILINE)
    return examples


def run_example(heading: str) -> dict[str, Any]:
    """What the example under a heading defines, after running it."""
    defined: dict[str, Any] = {"__name__": f"example: {heading}"}
    exec(compile(worked_examples()[heading], f"{GUIDE.name}: {heading}", "exec"), defined)
    return defined
