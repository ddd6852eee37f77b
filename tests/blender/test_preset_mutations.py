"""Presets that chance has damaged: taken whole, or refused with one sentence and nothing set."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from damage import damaged
from empty_shop import shop_of_an_empty_file
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import addon
from addon.finishing.core.errors import BadFile
from addon.scene.preset_files import apply_machine_preset, apply_rack_preset
from addon.scene.program_properties import program_of
from addon.scene.rack_settings import FinishingShop, cutter_of, machine_of

HOME = Path(addon.__file__).parent / "presets" / "finishing"
KINDS = {"machine": apply_machine_preset, "rack": apply_rack_preset}
FEW = settings(max_examples=200, deadline=20_000, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module")
def shop() -> Iterator[FinishingShop]:
    with shop_of_an_empty_file() as made:
        yield made


def held(shop: FinishingShop) -> tuple[object, ...]:
    """All that a preset may set."""
    return machine_of(shop.machine), program_of(shop.program), [cutter_of(item) for item in shop.cutters]


@pytest.mark.parametrize("kind", KINDS)
@FEW
@given(data=st.data())
def test_a_damaged_preset_is_taken_whole_or_refused(shop: FinishingShop, tmp_path: Path, kind: str, data: st.DataObject) -> None:
    path = tmp_path / "preset.py"
    path.write_bytes(data.draw(damaged([file.read_bytes() for file in sorted((HOME / kind).glob("*.py"))])))
    before = held(shop)
    try:
        KINDS[kind](path, shop)
    except BadFile as error:
        assert held(shop) == before
        assert str(error).endswith(".") and "\n" not in str(error) and len(str(error)) < 500
    else:
        held(shop)  # what is set makes records, whose tables have checked each value
        assert kind == "machine" or len(shop.cutters)


@pytest.mark.parametrize("kind", KINDS)
@FEW
@given(content=st.binary(max_size=300))
def test_bytes_at_random_are_no_preset(shop: FinishingShop, tmp_path: Path, kind: str, content: bytes) -> None:
    path = tmp_path / "preset.py"
    path.write_bytes(content)
    before = held(shop)
    try:
        KINDS[kind](path, shop)
    except BadFile as error:
        assert str(error).endswith(".") and "\n" not in str(error)
    assert held(shop) == before
