"""Learning in closed forms: from this heap's readings, from this cooperative's harvests, from a look.

A. Gaussian conditioning: one ensemble smoother update of the outputs, with no second run. B. Conjugate regression of
what was observed on what the equations and the readings said, around a rule of thumb. C. "Not ready yet" cuts the range
at that day, and leaves out the members that would have been. D. A look in five words is one more regressor.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heaps.science.living.parameters import Array
from heaps.science.living.readings import Seen

#: A surprise counts as so many spreads at most.
MOST_SPREADS = 2.5
#: What is left to doubt after all readings, at the least, against a heap without any (a guess, not yet tried on heaps).
LEAST_DOUBT = 0.5
#: Of what can be told apart, the share that each word of a look stands for (common practice), and the usual one.
LOOKS: Mapping[str, float] = {"all": 0.95, "most": 0.70, "half": 0.50, "some": 0.25, "none": 0.08}
USUAL_LOOK = 0.30
#: A harvest of a heap at which nobody looked still tells how soon a cooperative calls a heap ready: as if the look had
#: been the usual one, with as much more doubt as the two priors below differ by (without it a look was worth nothing
#: after three harvests on `manage.py twin --tuned`, with it 13 days).
USUAL, NO_LOOK_DOUBT = "usual", 2.0


@dataclass(frozen=True)
class Conditioned:
    """Middle and variance of each output after the readings, and both before."""

    mean: Array
    variance: Array
    mean_before: Array
    before: Array

    @property
    def doubt(self) -> Array:
        """What is left of the variance, 1 without readings."""
        share: Array = self.variance / np.maximum(self.before, 1e-12)
        return LEAST_DOUBT + (1 - LEAST_DOUBT) * share


@dataclass(frozen=True)
class Learnt:
    """What a cooperative's harvests say of one output. All that need be kept of them.

    `mean` and `spread` are of the coefficients: its own shift, the trust in the equations and in the readings, the
    weight of a look; `spread` in units of the variance of one heap, of which `freedom` and `variance` are the inverse
    gamma.
    """

    mean: Array
    spread: Array
    freedom: float
    variance: float


@dataclass(frozen=True)
class Student:
    """A Student's t: where it lies, how wide, how many degrees of freedom, and from where on it holds."""

    centre: float
    scale: float
    freedom: float
    above: float = -np.inf

    def at(self, share: float) -> float:
        """The value below which a share of it lies."""
        from scipy.special import stdtr, stdtrit  # read from disk only when somebody forecasts

        below = float(stdtr(self.freedom, (self.above - self.centre) / self.scale))
        return self.centre + self.scale * float(stdtrit(self.freedom, min(below + share * (1 - below), 1 - 1e-9)))


def _prior(mean: Sequence[float], spread: Sequence[float], one_heap: float, freedom: float = 6.0) -> Learnt:
    return Learnt(np.array(mean), np.diag((np.array(spread) / one_heap) ** 2), freedom, one_heap**2)


#: Before any harvest: own shift and trusts with their spreads, and the spread of one heap. Forecasts are combined: rule
#: of thumb and equations with about equal weights, which are seldom beaten (Bates & Granger 1969; Clemen 1989, from
#: memory), and harvests set the weights anew as a regression does (Granger & Ramanathan 1984, from memory). Readings
#: move bags by all that they say, and the date by nothing until harvests show that they may: a heap that is still hot
#: rots fast, but is not near its end. Set on `manage.py twin --tuned`, whose heaps differ by far in how soon people
#: call them ready.
BAGS_BEFORE = _prior((0.0, 0.5, 1.0), (0.25, 0.25, 0.25), 0.25)
DAYS_BEFORE = _prior((-0.2, 0.6, 0.0), (0.80, 0.25, 0.25), 0.72)
DAYS_WITH_LOOK_BEFORE = _prior((-0.2, 0.3, 0.0, 0.8), (0.80, 0.25, 0.25, 0.40), 0.55)


def condition(outputs: Array, seen: Seen | None, still: NDArray[np.bool_] | None = None) -> Conditioned:
    """The outputs (each a row of members) in the light of the readings; of the members that are `still` possible."""
    outputs = outputs if still is None else outputs[:, still]
    mean, before = outputs.mean(axis=1), outputs.var(axis=1, ddof=1)
    if seen is None:
        return Conditioned(mean, before, mean, before)
    members = seen.members if still is None else seen.members[:, still]
    apart = members - members.mean(axis=1, keepdims=True)
    own = apart @ apart.T / (outputs.shape[1] - 1) + seen.error
    shared = (outputs - mean[:, None]) @ apart.T / (outputs.shape[1] - 1)
    gain = np.linalg.solve(own, shared.T).T
    spread = np.sqrt(np.diag(own))
    surprise = np.clip(seen.values - members.mean(axis=1), -MOST_SPREADS * spread, MOST_SPREADS * spread)
    variance = np.maximum(before - (gain * shared).sum(axis=1), 0.0)
    return Conditioned(mean + gain @ surprise, variance, mean, before)


def regressors(rule: float, bare: float, read: float, look: str | None = None) -> Array:
    """Of one heap, from logarithms: its own shift, how far the equations leave the rule of thumb, how far its readings
    moved them, and a look."""
    row = [1.0, bare - rule, read - bare]
    if look is None:
        return np.array(row)
    left = USUAL_LOOK if look == USUAL else LOOKS[look]
    return np.array([*row, float(np.log(left / USUAL_LOOK))])


def learn(before: Learnt, row: Array, over_rule: float, doubt: float) -> Learnt:
    """One harvest more: ln(observed) less ln(rule of thumb). The order of harvests does not matter."""
    was = np.linalg.inv(before.spread)
    now = was + np.outer(row, row) / doubt
    mean = np.linalg.solve(now, was @ before.mean + row * over_rule / doubt).astype(np.float64)
    freedom = before.freedom + 1
    left = before.freedom * before.variance + over_rule**2 / doubt
    left += float(before.mean @ was @ before.mean - mean @ now @ mean)
    return Learnt(mean, np.linalg.inv(now).astype(np.float64), freedom, left / freedom)


def foretell(learnt: Learnt, row: Array, rule: float, doubt: float, above: float = -np.inf) -> Student:
    """The logarithm to expect of one heap; `above` is one that is known to be too small."""
    scale = float(np.sqrt(learnt.variance * (doubt + row @ learnt.spread @ row)))
    return Student(rule + float(row @ learnt.mean), scale, learnt.freedom, above)
