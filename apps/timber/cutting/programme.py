"""Small helpers around HiGHS: a quiet solver, and a part of a programme in whole numbers."""

from __future__ import annotations

from typing import Any

import highspy
import numpy as np
from highspy._core import _Highs
from numpy.typing import NDArray


def quiet() -> Any:
    """A solver that prints nothing and takes one processor."""
    # The wrapper `highspy.Highs` prints a line while it is made; what it wraps does not.
    solver = _Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    return solver


def part_of(model: highspy.HighsLp, columns: NDArray[np.int64]) -> highspy.HighsLp:
    """The same rows with some of the columns, all of them whole numbers."""
    part = highspy.HighsLp()
    part.num_row_ = model.num_row_
    part.num_col_ = len(columns)
    part.col_cost_ = np.array(model.col_cost_)[columns]
    part.col_lower_ = np.array(model.col_lower_)[columns]
    part.col_upper_ = np.array(model.col_upper_)[columns]
    part.row_lower_ = model.row_lower_
    part.row_upper_ = model.row_upper_
    start = np.array(model.a_matrix_.start_)
    lengths = np.diff(start)[columns]
    begin = np.repeat(start[columns] - np.concatenate([[0], np.cumsum(lengths)[:-1]]), lengths)
    entries = begin + np.arange(int(lengths.sum()))
    part.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    part.a_matrix_.num_row_ = model.num_row_
    part.a_matrix_.num_col_ = len(columns)
    part.a_matrix_.start_ = np.concatenate([[0], np.cumsum(lengths)])
    part.a_matrix_.index_ = np.array(model.a_matrix_.index_)[entries]
    part.a_matrix_.value_ = np.array(model.a_matrix_.value_)[entries]
    part.integrality_ = [highspy.HighsVarType.kInteger] * len(columns)
    return part
