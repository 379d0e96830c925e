"""Small linear programmes, many of them: one model each, solved again and again with other costs or bounds.

    least  cost . x    where    low <= rows x <= high    and    floor <= x <= ceiling

The certificates ask thousands of programmes of ten rows; building each anew costs more than solving it. A model is
passed once, and every further question starts from the corners of the last answer. The only place that talks to the
solver. Each programme owns its solver, so threads and processes share nothing. Any units. Touches no files.
Used by `wrench`, `preload` and `gates`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from scanprep.vectors import F64, check_shape, steady

DUAL, PRIMAL = 1, 4  # format: the solver's own numbers for the two simplex methods
SIMPLEX, INTERIOR = "simplex", "ipm"


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """Where a programme is least."""

    x: F64  # (n,)
    duals: F64  # (r,) by how much the least cost grows per unit of each row's bound
    cost: float


class Programme:
    """One programme whose costs and bounds may be changed between questions."""

    def __init__(self, rows: F64, low: F64, high: F64, *, floor: F64 | float = 0.0,
                 ceiling: F64 | float = np.inf) -> None:
        """Pass the model on.

        rows          (r, n)
        low, high     (r,) what rows x may be; equal where it must be just that, infinite where it is free
        floor         (n,) or one for all, of x; ceiling likewise
        """
        count, width = rows.shape
        check_shape("low", low, (count,))
        check_shape("high", high, (count,))
        self._floor, self._ceiling = _each(floor, width), _each(ceiling, width)
        self._columns = np.arange(width, dtype=np.int32)
        self._solver: Any = _quiet_solver()
        rows = steady(rows, 12)  # the corner that the solver ends in must not hang on a last bit
        column, row = np.nonzero(rows.T)
        begins = np.concatenate([[0], np.cumsum(np.bincount(column, minlength=width))]).astype(np.int32)
        by_column, least, continuous = 1, 1, np.zeros(width, dtype=np.int32)
        self._solver.passModel(width, count, len(row), by_column, least, 0.0, np.zeros(width), self._floor,
                               self._ceiling, low, high, begins, row.astype(np.int32), rows[row, column], continuous)

    def keep(self, column: int, floor: float) -> None:
        """Ask for at least so much of one of x from now on."""
        self._floor[column] = floor
        self._solver.changeColsBounds(len(self._columns), self._columns, self._floor, self._ceiling)

    def most(self, column: int, instead_of: slice) -> Answer | None:
        """Return where one of x is greatest while all others of a range, loads that come one at a time, are nothing."""
        ceiling = self._ceiling.copy()
        ceiling[instead_of] = 0.0
        ceiling[column] = self._ceiling[column]
        self._solver.changeColsBounds(len(self._columns), self._columns, self._floor, ceiling)
        cost = np.zeros(len(self._columns))
        cost[column] = -1.0
        return self.least(cost)

    def least(self, cost: F64) -> Answer | None:
        """Return where `cost` (n,) is least; None where no x does.

        The simplex method now and then gives up on a degenerate programme: then it starts afresh, and then the interior
        point method is asked. Raises ArithmeticError where that ends otherwise too, or the cost has no end.
        """
        import highspy

        states, solver = highspy.HighsModelStatus, self._solver
        solver.changeColsCost(len(self._columns), self._columns, cost)
        for method in (SIMPLEX, SIMPLEX, INTERIOR):
            solver.setOptionValue("solver", method)
            solver.run()
            state = solver.getModelStatus()
            if state in (states.kOptimal, states.kInfeasible):
                break
            solver.clearSolver()
        else:
            raise ArithmeticError(f"a linear programme ended with {solver.modelStatusToString(state)}")
        if state == states.kInfeasible:
            return None
        found = solver.getSolution()
        return Answer(np.array(found.col_value), np.array(found.row_dual), float(solver.getObjectiveValue()))


def _each(value: F64 | float, width: int) -> F64:
    return np.broadcast_to(np.asarray(value, dtype=np.float64), width).copy()


def _quiet_solver() -> Any:
    import highspy

    # the plain class of the library: the friendlier one greets on the console before it can be told not to
    solver = highspy._core._Highs()
    options = highspy.HighsOptions()
    options.output_flag = False
    options.threads = 1
    options.presolve = "off"  # costs more than it saves on ten rows, and forgets the last corners
    options.simplex_strategy = PRIMAL  # with other costs the last corner still is one
    options.simplex_scale_strategy = 0  # rows come scaled
    solver.passOptions(options)
    return solver
