"""What to read next: which reading would take most doubt off a forecast."""

from collections.abc import Mapping

import numpy as np

from heaps.science.living.foresight import Measure, Worth
from heaps.science.living.parameters import Array
from heaps.science.living.readings import FILL_LN, LATELY_K

#: A look in a word: of ln(share that is left) (common practice: a word to either side is seen).
LOOK_LN = 0.45


def worth(outputs: Array, today: Mapping[Measure, Array], already: tuple[Array, Array] | None) -> tuple[Worth, ...]:
    """Readings by what they would take off the variance of both outputs (bags, date), the best first.

    `today` is what each member would show; `already` are members and errors of the readings that count. In closed form:
    the variance that goes is Cov(o,f) [Var(f) + R]^-1 Cov(f,o) of what those readings leave.
    """
    errors = {Measure.FILL: FILL_LN, Measure.WARMTH: LATELY_K, Measure.LOOK: LOOK_LN}
    before = _left(outputs, already)
    found = []
    for measure, members in today.items():
        error = np.array([[errors[measure] ** 2]])
        one = (members[None, :], error)
        after = _left(outputs, one if already is None else _both(already, one))
        bags, date = (1 - after / np.maximum(before, 1e-12)).tolist()
        found.append(Worth(measure, max(bags, 0.0), max(date, 0.0)))
    return tuple(sorted(found, key=lambda one: -(one.of_bags + one.of_date)))


def _left(outputs: Array, seen: tuple[Array, Array] | None) -> Array:
    variance: Array = outputs.var(axis=1, ddof=1)
    if seen is None:
        return variance
    members, error = seen
    apart = members - members.mean(axis=1, keepdims=True)
    shared = (outputs - outputs.mean(axis=1, keepdims=True)) @ apart.T / (outputs.shape[1] - 1)
    own = apart @ apart.T / (outputs.shape[1] - 1) + error
    gone: Array = (shared * np.linalg.solve(own, shared.T).T).sum(axis=1)
    return np.maximum(variance - gone, 0.0)


def _both(first: tuple[Array, Array], second: tuple[Array, Array]) -> tuple[Array, Array]:
    count = len(first[1])
    error = np.zeros((count + 1, count + 1))
    error[:count, :count], error[count:, count:] = first[1], second[1]
    return np.vstack([first[0], second[0]]), error
