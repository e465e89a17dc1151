"""Linear programmes in MPS files, read once and solved by several families of solvers."""

from __future__ import annotations

import contextlib
import ctypes
import os
import sys

import highspy
import numpy as np
import swiglpk as glpk
from ortools.linear_solver.python import model_builder
from scipy.optimize import linprog
from scipy.sparse import csc_matrix, csr_matrix, vstack


@contextlib.contextmanager
def _no_banner():
    """HiGHS prints its licence line when it reads, whatever its options say."""
    sys.stdout.flush()
    ctypes.CDLL(None).fflush(None)
    kept = os.dup(1)
    with open(os.devnull, "w") as nowhere:
        os.dup2(nowhere.fileno(), 1)
    try:
        yield
    finally:
        ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)


class Programme:
    """min cost x + offset, row_low <= A x <= row_high, low <= x <= high, as arrays."""

    def __init__(self, path: str):
        with _no_banner():
            h = highspy.Highs()
            h.setOptionValue("output_flag", False)
            h.setOptionValue("small_matrix_value", 1e-12)
        with _no_banner():
            status = h.readModel(str(path))
        # a warning is given for coefficients too small to matter; an error is an error
        if status == highspy.HighsStatus.kError:
            raise ValueError(f"HiGHS cannot read `{path}`")
        h.ensureColwise()
        lp = h.getLp()
        assert lp.sense_ == highspy.ObjSense.kMinimize, "the programme minimises"
        assert not len(lp.integrality_), "the programme is linear"
        m = lp.a_matrix_
        shape = (lp.num_row_, lp.num_col_)
        if m.format_ == highspy.MatrixFormat.kColwise:
            self.a = csc_matrix((m.value_, m.index_, m.start_), shape=shape).tocsr()
        else:
            self.a = csr_matrix((m.value_, m.index_, m.start_), shape=shape)
        self.cost, self.offset = np.array(lp.col_cost_), lp.offset_
        self.low, self.high = np.array(lp.col_lower_), np.array(lp.col_upper_)
        self.row_low, self.row_high = np.array(lp.row_lower_), np.array(lp.row_upper_)
        self.path = str(path)
        equal = self.row_low == self.row_high
        upper, lower = ~equal & np.isfinite(self.row_high), ~equal & np.isfinite(self.row_low)
        self.linprog_args = {
            "c": self.cost,
            "A_ub": vstack([self.a[upper], -self.a[lower]]) if (upper | lower).any() else None,
            "b_ub": np.concatenate([self.row_high[upper], -self.row_low[lower]]) if (upper | lower).any() else None,
            "A_eq": self.a[equal] if equal.any() else None,
            "b_eq": self.row_low[equal] if equal.any() else None,
            "bounds": np.column_stack([self.low, self.high]),
            "method": "highs",
        }

    def by_linprog(self) -> float:
        done = linprog(**self.linprog_args)
        assert done.status == 0, done.message
        return float(done.fun) + self.offset

    def by_glpk(self) -> float:
        """GLPK reads the file itself, so nothing of this class stands between."""
        glpk.glp_term_out(glpk.GLP_OFF)
        p = glpk.glp_create_prob()
        try:
            assert glpk.glp_read_mps(p, glpk.GLP_MPS_FILE, None, self.path) == 0, "GLPK cannot read the file"
            assert glpk.glp_get_num_int(p) == 0
            glpk.glp_scale_prob(p, glpk.GLP_SF_AUTO)
            parm = glpk.glp_smcp()
            glpk.glp_init_smcp(parm)
            # its presolver drops small coefficients and breaks rows by 1e-4 on these programmes
            parm.presolve = glpk.GLP_OFF
            glpk.glp_adv_basis(p, 0)
            parm.tol_bnd = parm.tol_dj = 1e-9
            assert glpk.glp_simplex(p, parm) == 0
            if glpk.glp_get_status(p) != glpk.GLP_OPT:
                # a start far from feasible can end a hair outside its tolerance: begin plainly
                glpk.glp_unscale_prob(p)
                glpk.glp_std_basis(p)
                assert glpk.glp_simplex(p, parm) == 0
            assert glpk.glp_get_status(p) == glpk.GLP_OPT
            # solvers disagree on the sign of a right-hand side in the objective row (GLPK adds
            # it, HiGHS and most others subtract it), so the constant is taken from one reader
            return glpk.glp_get_obj_val(p) - glpk.glp_get_obj_coef(p, 0) + self.offset
        finally:
            glpk.glp_delete_prob(p)

    def by_glop(self) -> float:
        """Google's GLOP on the arrays."""
        model = model_builder.Model()
        model.helper.fill_model_from_sparse_data(
            self.low, self.high, self.cost, self.row_low, self.row_high, self.a.tocsr()
        )
        model.helper.set_maximize(False)
        solver = model_builder.Solver("GLOP")
        # its scaling and preprocessing drop small coefficients, and then find some programmes infeasible
        solver.set_solver_specific_parameters("use_scaling: false use_preprocessing: false")
        status = solver.solve(model)
        assert status == model_builder.SolveStatus.OPTIMAL, status
        return float(solver.objective_value) + self.offset
