#!/usr/bin/env python3
"""The fit of the library against SciPy's least_squares on the same readings and model.

    compare_fit.py DUMP STUDY CACHE NAME=CSV...

DUMP (fit_dump.c) gives the library's answer and, asked on standard input, what the model gives for
any values of the corrections; search, loss and errors are SciPy's and NumPy's own. Both have to
agree within 1e-4 of a parameter's bounds and within 1e-3 of its standard error (which comes from
derivatives by differences on both sides).
"""
import subprocess
import sys

import numpy as np
from scipy.optimize import least_squares

AGREE, AGREE_ERROR = 1e-4, 1e-3
# As in the study.
THRESHOLD = 2.0
BOUNDS = {"hillclimb-fit": [(0.85, 1.15), (-0.1, 0.1), (0.5, 2.0), (0.0, 3.0), (0.4, 2.5), (-0.01, 0.03), (0.6, 1.4),
                            (0.5, 2.0), (0.7, 1.4), (0.9, 1.1)],
          "measured": [(0.85, 1.15), (0.5, 2.0), (0.5, 1.5), (0.9, 1.1)]}
PRIORS = {"hillclimb-fit": {3: (1.0, 0.5), 5: (0.0, 0.005), 7: (1.0, 0.2)}, "measured": {3: (1.0, 0.02)}}
START = {"hillclimb-fit": [1, 0, 1, 1, 1, 0, 1, 1, 1, 1], "measured": [1, 1, 1, 1]}


class Model:
    """The library's answer and its model as a child process."""

    def __init__(self, arguments):
        program, study, cache, *logs = arguments
        self.child = subprocess.Popen([program, study, cache, "fit", *logs], stdin=subprocess.PIPE,
                                      stdout=subprocess.PIPE, text=True)
        answer = [float(word) for word in self.child.stdout.readline().split()]
        self.found, self.error, self.cost = np.array(answer[:-1:2]), np.array(answer[1:-1:2]), answer[-1]
        rows = [self.child.stdout.readline().split() for _ in range(int(self.child.stdout.readline()))]
        self.measured = np.array([float(row[4]) for row in rows])
        self.deviation = np.array([float(row[5]) for row in rows])

    def residuals(self, x):
        self.child.stdin.write(" ".join(repr(float(v)) for v in x) + "\n")
        self.child.stdin.flush()
        modelled = np.array([float(word) for word in self.child.stdout.readline().split()])
        return (modelled - self.measured) / self.deviation


def huber(z):
    """Of squared residuals, with derivatives, for those of the model; priors come after them."""
    root = np.sqrt(np.maximum(z, 1e-300))
    inside = root <= THRESHOLD
    return (np.where(inside, z, 2 * THRESHOLD * root - THRESHOLD ** 2),
            np.where(inside, 1.0, THRESHOLD / root),
            np.where(inside, 0.0, -0.5 * THRESHOLD / root ** 3))


def solve(model, bounds, priors, start):
    low, high = np.array(bounds).T
    span = high - low

    def all_residuals(x):
        return np.concatenate([model.residuals(x), [(x[k] - mean) / deviation for k, (mean, deviation) in priors.items()]])

    def loss(z):
        rho = np.vstack([z, np.ones_like(z), np.zeros_like(z)])
        count = len(model.measured)
        rho[:, :count] = huber(z[:count])
        return rho

    return least_squares(all_residuals, start, jac="3-point", bounds=(low, high), x_scale=span, loss=loss, f_scale=1.0,
                         diff_step=1e-4, xtol=1e-13, ftol=1e-13, gtol=1e-13, max_nfev=300), all_residuals, span


def errors(all_residuals, x, span, bounds, count):
    """From (J^T W J)^-1 over parameters inside their bounds, differences of NumPy."""
    inside = [k for k, (low, high) in enumerate(bounds) if min(x[k] - low, high - x[k]) > 1e-6 * span[k]]
    r = all_residuals(x)
    w = np.ones_like(r)
    w[:count] = np.minimum(1.0, THRESHOLD / np.maximum(np.abs(r[:count]), 1e-300))
    jacobian = np.empty((len(r), len(inside)))
    for column, k in enumerate(inside):
        step = np.zeros_like(x)
        step[k] = 1e-4 * span[k]
        jacobian[:, column] = (all_residuals(x + step) - all_residuals(x - step)) / (2 * step[k])
    covariance = np.linalg.inv(jacobian.T @ (w[:, None] * jacobian))
    return inside, np.sqrt(np.diag(covariance))


def main():
    name = sys.argv[2].split("/")[-1].removesuffix(".cfg")
    model = Model(sys.argv[1:])
    peer, all_residuals, span = solve(model, BOUNDS[name], PRIORS[name], np.array(START[name], float))
    off = np.abs(peer.x - model.found) / span
    inside, deviation = errors(all_residuals, model.found, span, BOUNDS[name], len(model.measured))
    off_error = np.abs(deviation / model.error[inside] - 1.0)
    print(f"{name}: {len(model.measured)} readings, {len(span)} corrections; cost {model.cost:.8f}, SciPy {peer.cost:.8f}")
    print(f"largest difference {off.max():.2e} of the bounds (allowed {AGREE:g}), "
          f"of standard errors {off_error.max():.2e} (allowed {AGREE_ERROR:g})")
    sys.exit(0 if off.max() <= AGREE and off_error.max() <= AGREE_ERROR and model.cost <= peer.cost * (1 + 1e-8) else 1)


if __name__ == "__main__":
    main()
