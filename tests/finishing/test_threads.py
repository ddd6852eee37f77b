"""Work in threads, and stages that run beside others."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from addon.finishing.core.matrix_products import product
from addon.finishing.core.stepping import finished
from addon.finishing.core.threads import THREADS, in_threads


def test_results_come_in_the_order_of_the_items_and_all_shares_are_told() -> None:
    steps = in_threads(lambda item: item * item, range(20))
    shares = []
    while True:
        try:
            shares.append(next(steps))
        except StopIteration as end:
            assert end.value == [item * item for item in range(20)]
            break
    assert shares == [number / 20 for number in range(1, 21)]
    assert finished(in_threads(abs, [])) == []


def test_what_has_not_begun_is_left_undone_when_it_is_closed() -> None:
    begun, go_on = [], threading.Event()

    def work(item: int) -> None:
        begun.append(item)
        if item:
            go_on.wait(10)

    steps = in_threads(work, range(50))
    next(steps)
    threading.Timer(0.2, go_on.set).start()
    steps.close()
    assert len(begun) <= 1 + THREADS


@pytest.mark.parametrize("rows", [0, 1, 63, 1000])
def test_products_in_pieces_equal_whole_ones(rows: int) -> None:
    # numpy's own product of the whole matrices; the large one is cut into pieces.
    rng = np.random.default_rng(rows)
    left, right = rng.normal(size=(rows, 169)), rng.normal(size=(169, 21))
    np.testing.assert_allclose(product(left, right), left @ right, atol=1e-11)
    assert product(left.astype(np.float32), right.astype(np.float32)).dtype == np.float32
