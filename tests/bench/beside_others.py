"""heat-reach beside scipy's solve_bvp, order-of-work beside OR-Tools' CP-SAT, in one run.

Reads the committed reference cases, gives each to both programs by turns, compares the
answers and prints the medians with their ratio. Usage: beside_others.py SUMS [SECONDS]
with SUMS the built example timed_sums, and SECONDS how long CP-SAT may take for one case.
"""
import itertools
import json
import pathlib
import statistics
import subprocess
import sys
import time

import numpy as np
from ortools.sat.python import cp_model
from scipy.integrate import solve_bvp

VECTORS = pathlib.Path(__file__).resolve().parent.parent / "vectors"
# COMPUTATIONS.md, section 1: constants of the model and table 1a (k W/mK).
SIGMA = 5.670374419e-8
K_W_M_K = {"brass_c260": 120.0, "copper_c122": 340.0, "nickel_silver_c752": 33.0, None: 120.0}


class Sums:
    """The product's own computations, in a process of its own."""

    def __init__(self, program):
        self.child = subprocess.Popen([program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def ask(self, name, given, repeats):
        self.child.stdin.write(json.dumps({"name": name, "input": given, "repeats": repeats}) + "\n")
        self.child.stdin.flush()
        told = json.loads(self.child.stdout.readline())
        if "refused" in told:
            raise SystemExit(f"{name} refused a reference case: {told['refused']}")
        return told["median_s"], told["output"]


def loss(tube, given, zones):
    """q(T)·perimeter in W/m as a function of place (m) and temperature (°C)."""
    outside = np.pi * tube["outside_diameter_mm"] / 1e3
    inside = outside - 2 * np.pi * tube["wall_mm"] / 1e3
    ambient = given.get("ambient_c", 20.0)
    h = given.get("air_h_w_m2_k", 10.0)
    eps = tube.get("emissivity", given.get("emissivity", 0.3))

    def at(x, temp):
        kelvin, room = temp + 273.15, ambient + 273.15
        heat = outside * (h * (temp - ambient) + eps * SIGMA * (kelvin**4 - room**4))
        for zone in zones:
            here = (x > zone["from_mm"] / 1e3) & (x <= zone["to_mm"] / 1e3)
            if zone["kind"] == "water":
                water = zone.get("temperature_c", 25.0)
                boiling = 800 * (temp - water) + 20 * np.maximum(temp - 100, 0) ** 3
                wet = (outside + (inside if zone.get("inside") else 0)) * np.minimum(boiling, 5e5)
            else:
                typical = {"wet_rag": (500.0, 100.0), "heat_sink": (1000.0, 40.0)}[zone["kind"]]
                wet = outside * zone.get("h_w_m2_k", typical[0]) * (temp - zone.get("temperature_c", typical[1]))
            heat = np.where(here, wet, heat)
        return heat

    return at


def by_solve_bvp(given):
    """Temperature of every joint of a single tube, nominal values only, °C."""
    (tube,) = given["tubes"]
    length = tube["length_mm"] / 1e3
    torches = sorted((z for z in given["zones"] if z["kind"] == "torch"), key=lambda z: z["from_mm"])
    at = loss(tube, given, [z for z in given["zones"] if z["kind"] != "torch"])
    d = (tube["outside_diameter_mm"] - 2 * tube["wall_mm"]) / 1e3
    metal = np.pi / 4 * ((tube["outside_diameter_mm"] / 1e3) ** 2 - d**2)
    conduct = tube.get("k_w_m_k", K_W_M_K[tube.get("material")]) * metal
    edges = sorted({e / 1e3 for z in given["zones"] for e in (z["from_mm"], z["to_mm"])} | {0.0, length})
    spans = []
    here, held = 0.0, None
    for torch in torches:
        if torch["from_mm"] / 1e3 > here:
            spans.append((here, torch["from_mm"] / 1e3, held, torch["temperature_c"]))
        here, held = torch["to_mm"] / 1e3, torch["temperature_c"]
    if here < length:
        spans.append((here, length, held, None))
    found = []
    for left, right, t_left, t_right in spans:
        # The loss jumps at the edge of a zone, where solve_bvp would refine for ever: every
        # stretch between two edges is a pair of rows of its own over 0 to 1, tied at the edges.
        inner = np.array([e for e in edges if left <= e <= right])
        starts, lengths = inner[:-1], np.diff(inner)
        count = lengths.size

        def slopes(x, y, starts=starts, lengths=lengths, count=count):
            rows = np.empty_like(y)
            for k in range(count):
                middle = starts[k] + lengths[k] / 2
                rows[2 * k] = lengths[k] * y[2 * k + 1]
                rows[2 * k + 1] = lengths[k] * at(middle, y[2 * k]) / conduct
            return rows

        def ends(a, b, t_left=t_left, t_right=t_right, count=count):
            tied = [a[2 * (k + 1) + row] - b[2 * k + row] for k in range(count - 1) for row in (0, 1)]
            first = a[1] if t_left is None else a[0] - t_left
            last = b[-1] if t_right is None else b[-2] - t_right
            return np.array([first, last, *tied])

        mesh = np.linspace(0, 1, 60)
        start = np.zeros((2 * count, mesh.size))
        ambient = given.get("ambient_c", 20.0)
        for k in range(count):
            start[2 * k] = np.interp(
                starts[k] + lengths[k] * mesh,
                [left, right],
                [ambient + 5 if t_left is None else t_left, ambient + 5 if t_right is None else t_right],
            )
        answer = solve_bvp(slopes, ends, mesh, start, tol=1e-4, max_nodes=50_000)
        if not answer.success:
            return None
        for k in range(count):
            found.append(
                (
                    starts[k],
                    starts[k] + lengths[k],
                    lambda x, sol=answer.sol, k=k, starts=starts, lengths=lengths: sol((x - starts[k]) / lengths[k])[2 * k : 2 * k + 2],
                )
            )
    reached = {}
    for joint in given["joints"]:
        place = joint["at_mm"] / 1e3 if "at_mm" in joint else (0.0 if joint["node"] == tube["from"] else length)
        for torch in torches:
            if torch["from_mm"] / 1e3 <= place <= torch["to_mm"] / 1e3:
                reached[joint["id"]] = torch["temperature_c"]
        for left, right, solution in found:
            if joint["id"] not in reached and left <= place <= right:
                reached[joint["id"]] = float(solution(place)[0])
    return reached


def by_cp_sat(given, seconds):
    """(total or None, whether proved) by a circuit with optional nodes and place variables."""
    model = cp_model.CpModel()
    joints = {j["id"]: j for j in given["joints"]}
    nodes = []  # (kind, id, action)
    for op in given["operations"]:
        nodes += [("operation", op["id"], method, op) for method in op["methods"]]
    for joint in given["joints"]:
        if joint.get("apart_at_start"):
            nodes.append(("put_together", joint["id"], joint["put_together"], None))
        elif "take_apart" in joint and "put_together" in joint:
            nodes.append(("take_apart", joint["id"], joint["take_apart"], None))
            nodes.append(("put_together", joint["id"], joint["put_together"], None))
    present = [model.new_bool_var(f"here{n}") for n in range(len(nodes))]
    place = [model.new_int_var(0, len(nodes), f"place{n}") for n in range(len(nodes))]
    at = {s: i for i, s in enumerate(given["stations"])}
    cost, arcs = [], []
    none = model.new_bool_var("none")
    arcs.append((0, 0, none))
    for n, (_, _, action, _) in enumerate(nodes):
        arcs.append((n + 1, n + 1, present[n].negated()))
        first = model.new_bool_var("")
        arcs.append((0, n + 1, first))
        if given.get("start_station") is not None:
            cost.append(given["changeover_minutes"][at[given["start_station"]]][at[action["station"]]] * first)
        arcs.append((n + 1, 0, model.new_bool_var("")))
        for m, (_, _, later, _) in enumerate(nodes):
            if m != n:
                goes = model.new_bool_var("")
                arcs.append((n + 1, m + 1, goes))
                model.add(place[m] >= place[n] + 1).only_enforce_if(goes)
                cost.append(given["changeover_minutes"][at[action["station"]]][at[later["station"]]] * goes)
        cost.append(action["minutes"] * present[n])
    model.add_circuit(arcs)
    of = lambda kind, id: [n for n, node in enumerate(nodes) if node[0] == kind and node[1] == id]
    op_place = {}
    for op in given["operations"]:
        mine = of("operation", op["id"])
        model.add_exactly_one(present[n] for n in mine)
        op_place[op["id"]] = model.new_int_var(0, len(nodes), "")
        for n in mine:
            model.add(op_place[op["id"]] == place[n]).only_enforce_if(present[n])
    for op in given["operations"]:
        for before in op.get("after", []):
            model.add(op_place[before] < op_place[op["id"]])
    for id, joint in joints.items():
        off, on = of("take_apart", id), of("put_together", id)
        if joint.get("apart_at_start"):
            model.add(present[on[0]] == 1)
        elif off:
            model.add(present[off[0]] == present[on[0]])
            model.add(place[off[0]] < place[on[0]])

    def is_apart(n, id):
        """A literal that holds exactly when joint id is apart at node n."""
        off, on = of("take_apart", id), of("put_together", id)
        apart = model.new_bool_var("")
        if not on:
            model.add(apart == 0)
            return apart
        before_on = model.new_bool_var("")
        model.add(place[n] < place[on[0]]).only_enforce_if(before_on)
        model.add(place[n] > place[on[0]]).only_enforce_if(before_on.negated(), present[on[0]], present[n])
        if joints[id].get("apart_at_start"):
            model.add(apart == before_on)
            return apart
        after_off = model.new_bool_var("")
        model.add(place[n] > place[off[0]]).only_enforce_if(after_off)
        model.add(place[n] < place[off[0]]).only_enforce_if(after_off.negated(), present[off[0]], present[n])
        model.add_bool_and(present[off[0]], before_on, after_off).only_enforce_if(apart)
        model.add_bool_or(present[off[0]].negated(), before_on.negated(), after_off.negated()).only_enforce_if(apart.negated())
        return apart

    for n, (kind, id, action, op) in enumerate(nodes):
        if op is not None:
            for joint in op.get("needs_apart", []):
                model.add_implication(present[n], is_apart(n, joint))
            for joint in op.get("needs_together", []):
                model.add_implication(present[n], is_apart(n, joint).negated())
        for joint in action.get("melts", []):
            if kind != "operation" and joint == id:
                continue
            apart = is_apart(n, joint)
            if joint in action.get("protect_minutes", {}):
                kept = model.new_bool_var("")
                model.add_bool_or(present[n].negated(), apart, kept)
                cost.append(action["protect_minutes"][joint] * kept)
            else:
                model.add_implication(present[n], apart)
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, status == cp_model.INFEASIBLE
    return round(solver.objective_value), status == cp_model.OPTIMAL


def cases(name):
    return [c for c in json.loads((VECTORS / f"{name}.json").read_text())["cases"] if "refused" not in c]


def main():
    sums = Sums(sys.argv[1])
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 20.0
    print("== heat-reach, one tube, steady: ms ours (typical and cautious values) | ms solve_bvp (typical values only) | ratio | largest difference, K")
    ratios = []
    for case in cases("heat-reach"):
        given = case["input"]
        if given["mode"]["kind"] != "steady" or len(given["tubes"]) != 1:
            continue
        ours, theirs = [], []
        for _ in range(5):
            took, output = sums.ask("heat-reach", given, 5)
            ours.append(took)
            begun = time.perf_counter()
            reached = by_solve_bvp(given)
            theirs.append(time.perf_counter() - begun)
        a, b = statistics.median(ours) * 1e3, statistics.median(theirs) * 1e3
        if reached is None:
            print(f"{case['id']:24} {a:8.3f} | solve_bvp did not settle")
            continue
        worst = max(abs(j["temperature_c"] - reached[j["id"]]) for j in output["joints"])
        ratios.append(b / a)
        print(f"{case['id']:24} {a:8.3f} | {b:8.1f} | {b / a:7.1f} | {worst:.3f}")
        if worst > 1.0:
            raise SystemExit(f"{case['id']}: more than 1 K apart")
    print(f"median of the ratios: {statistics.median(ratios):.0f} times as fast")
    print(f"== order-of-work: ms ours | ms CP-SAT (one worker, at most {seconds:g} s) | ratio | total, proved by CP-SAT or not")
    ratios, proved, count = [], 0, 0
    for case in cases("order-of-work"):
        took, output = sums.ask("order-of-work", case["input"], 5)
        begun = time.perf_counter()
        total, sure = by_cp_sat(case["input"], seconds)
        theirs = time.perf_counter() - begun
        count += 1
        proved += sure
        ratios.append(theirs / took)
        print(f"{case['id']:24} {took * 1e3:8.3f} | {theirs * 1e3:8.1f} | {theirs / took:8.0f} | {output['total_minutes']} {'proved' if sure else f'not proved, CP-SAT has {total}'}")
        if sure and total != output["total_minutes"]:
            raise SystemExit(f"{case['id']}: CP-SAT proves {total}, we say {output['total_minutes']}")
        if total is not None and total < output["total_minutes"]:
            raise SystemExit(f"{case['id']}: CP-SAT found {total}, we say {output['total_minutes']}")
    print(f"{proved} of {count} proved by CP-SAT, every one equal; median of the ratios {statistics.median(ratios):.0f}")


main()
