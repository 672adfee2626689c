"""Solves cover problems a second time, with another method, and compares what they cost.

    python cover.py FILE...              compares
    python cover.py --selftest FILE...   changes each cost by one; each change must be noticed

Each FILE is as `crates/proof/examples/random_covers.rs` writes it: rows, columns (cost and rows each), the cost found,
the bound proven and the columns chosen; or what `voltwright network JOB --mistakes` prints, with the plan in place of them. Nothing is taken from the solver under test: the least cost is found anew as an
integer program (HiGHS, by branch and cut, to a gap of zero), from rows and columns alone.

* Where the bound equals the cost, the least cost must equal it.
* Otherwise the least cost must lie from bound to cost.
* The chosen columns, where they are given, must cover every row and cost what is said.
* A cover problem that HiGHS does not settle within TIME_LIMIT fails.
"""

import json
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

TIME_LIMIT = 300.0  # seconds
WHOLE = 1e-6  # how near to a whole number HiGHS must come


def of_proof(data):
    """Gives the cover problem of a proof: a row for each kind of harmful mistake that is caught, by the readings that
    catch it, and a column for each reading."""
    rows = sorted({tuple(m["caught"]) for m in data["mistakes"] if m["harm"] and m["caught"]})
    readings = [reading for stage in data["stages"] for reading in stage["readings"]]
    columns = [{"cost": reading["cost"], "rows": []} for reading in readings]
    for row, caught in enumerate(rows):
        for reading in caught:
            columns[reading]["rows"].append(row)
    plan = data["plan"]
    return {"rows": len(rows), "columns": columns, "cost": plan["cost"], "bound": plan["bound"], "chosen": plan["readings"]}


def least_cost(problem):
    """Gives the least cost of a cover, or a complaint."""
    columns, rows = problem["columns"], problem["rows"]
    if rows == 0:
        return 0, None
    pairs = sorted({(i, j) for j, column in enumerate(columns) for i in column["rows"]})
    if {i for i, _ in pairs} != set(range(rows)):
        return None, "some row cannot be covered"
    at = np.array(pairs).T
    matrix = csr_array((np.ones(len(pairs)), (at[0], at[1])), shape=(rows, len(columns)))
    costs = np.array([column["cost"] for column in columns], float)
    result = milp(costs, integrality=np.ones(len(columns)), bounds=Bounds(0, 1),
                  constraints=LinearConstraint(matrix, lb=1),
                  options={"mip_rel_gap": 0.0, "time_limit": TIME_LIMIT})
    if result.status != 0:
        return None, f"not settled here: {result.message}"
    chosen = np.round(result.x)
    if abs(result.x - chosen).max() > WHOLE or (matrix @ chosen).min() < 1:
        return None, "not settled here: the answer is not a cover"
    return int(round(costs @ chosen)), None


def complaint(problem, least):
    """Says what is wrong with the given answer, or None."""
    cost, bound, columns = problem["cost"], problem["bound"], problem["columns"]
    if bound > cost:
        return f"bound {bound} above cost {cost}"
    if bound == cost and least != cost:
        return f"cost {cost} is not the least, {least}"
    if not bound <= least <= cost:
        return f"least cost {least} is not from {bound} to {cost}"
    if "chosen" in problem:
        chosen = problem["chosen"]
        if sum(columns[j]["cost"] for j in chosen) != cost:
            return f"the chosen columns do not cost {cost}"
        left = set(range(problem["rows"])).difference(*(columns[j]["rows"] for j in chosen))
        if left:
            return f"not covered: {sorted(left)}"
    return None


def tampered(problem):
    """Yields the answer with its cost one more and one less: alone, and as if proven, with nothing to check it by."""
    alone = {key: value for key, value in problem.items() if key != "chosen"}
    for change in (1, -1):
        cost = problem["cost"] + change
        yield f"cost {change:+d}", dict(problem, cost=cost)
        yield f"cost and bound {change:+d}", dict(alone, cost=cost, bound=cost)


def selftest(problem, least):
    """Says what tampering went unnoticed, or None; a gap leaves room for a wrong proven cost to be right."""
    for what, wrong in tampered(problem):
        if wrong["bound"] == wrong["cost"] == least:
            continue
        if complaint(wrong, least) is None:
            return f"{what} went unnoticed"
    return None


def main(arguments):
    """Judges every file; gives the exit status."""
    judge = selftest if "--selftest" in arguments else complaint
    names = [name for name in arguments if name != "--selftest"]
    passed = failed = 0
    for name in names:
        with open(name, encoding="utf-8") as file:
            problem = json.load(file)
        if "mistakes" in problem:
            problem = of_proof(problem)
        least, wrong = least_cost(problem)
        wrong = wrong or judge(problem, least)
        passed, failed = passed + (wrong is None), failed + (wrong is not None)
        size = f"{problem['rows']} rows, {len(problem['columns'])} columns, least cost {least}"
        print(f"ok {name}: {size}" if wrong is None else f"FAILED {name}: {wrong}", flush=True)
    if not names:
        print("no files given")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not names else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
