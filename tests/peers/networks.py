"""Makes random networks and solves them with numpy and scipy, to be held against our own solver.

    networks.py SEED COUNT       prints one JSON object a line: {"kind", "network", "node_volts", "dropped"}

The way is another than ours on purpose: modified nodal analysis with a row for every source, an LU
factor with pivoting, all states of diodes and alternators tried until one is consistent with itself,
and constant power by repeated currents instead of Newton steps. A network for which this finds no
operating point, or in which a load falls under its cut-off, is left out and another is made.
"""

import itertools
import json
import random
import sys

import numpy as np
from scipy.linalg import lu_factor, lu_solve

LEAK_S = 1e-9  # across every diode and alternator, in every state: part of our model
TOO_LOW_V = 0.5


class Maker:
    """Grows a network from a list of parts."""

    def __init__(self, rng):
        self.rng = rng
        self.elements = []
        self.nodes = 0

    def node(self):
        self.nodes += 1
        return f"n{self.nodes}"

    def add(self, kind, ends, **figures):
        names = ("pos", "neg") if kind in ("battery", "alternator") else ("a", "b")
        element = {"id": f"e{len(self.elements)}", "type": kind, **dict(zip(names, ends)), **figures}
        self.elements.append(element)
        return element

    def ohm(self, low, high):
        """A resistance, evenly spread over its decades."""
        return low * (high / low) ** self.rng.random()

    def wire(self, a, b):
        return self.add("resistor", (a, b), ohm=self.ohm(0.0005, 0.3))

    def load(self, a, b, kinds):
        kind = self.rng.choice(kinds)
        if kind == "load_r":
            return self.add(kind, (a, b), ohm=self.ohm(2, 500))
        if kind == "load_i":
            return self.add(kind, (a, b), amp=self.ohm(0.05, 3), v_cut=1.0)
        return self.add(kind, (a, b), watt=self.ohm(0.5, 40), v_cut=1.0)


def network(rng, kind):
    """A battery, a bus, feeds and returns; what else depends on the kind."""
    make = Maker(rng)
    ground, bus = "gnd", make.node()
    make.add("battery", (bus, ground), emf=rng.uniform(11, 28), ohm=make.ohm(0.005, 0.05))
    kinds = ["load_r", "load_i"] + (["load_p"] * 2 if kind in ("power", "mixed", "islands") else [])
    feeds, returns = [bus], [ground]
    for _ in range(rng.randint(3, 24)):
        feed = make.node()
        make.wire(rng.choice(feeds), feed)
        feeds.append(feed)
        if rng.random() < 0.6:
            back = make.node()
            make.wire(rng.choice(returns), back)
            returns.append(back)
        if rng.random() < 0.7:
            make.load(feed, rng.choice(returns), kinds)
    if kind in ("meshed", "mixed"):
        for side in (feeds, returns):
            for _ in range(len(side) // 3):
                a, b = rng.sample(side, 2) if len(side) > 1 else (None, None)
                if a is not None:
                    make.wire(a, b)
    if kind in ("diodes", "mixed"):
        for _ in range(rng.randint(1, 3)):
            end, start = make.node(), rng.choice(feeds)
            ends = (start, end) if rng.random() < 0.7 else (end, start)
            make.add("diode", ends, vf=rng.uniform(0.3, 0.8), ohm=make.ohm(0.002, 0.05))
            make.load(end, rng.choice(returns), kinds)
            if rng.random() < 0.5:
                make.wire(end, rng.choice(feeds))
        if rng.random() < 0.7:
            make.add("alternator", (rng.choice(feeds), rng.choice(returns)),
                     v_set=rng.uniform(13, 28.5), ohm_reg=make.ohm(0.002, 0.02), i_max=rng.uniform(2, 70))
    if kind == "islands":
        plus, minus = make.node(), make.node()
        make.add("battery", (plus, minus), emf=rng.uniform(1.5, 9), ohm=make.ohm(0.05, 1))
        far = make.node()
        make.wire(plus, far)
        make.load(far, minus, ["load_r", "load_p"])
        dead_a, dead_b = make.node(), make.node()
        make.wire(dead_a, dead_b)
        make.load(rng.choice(feeds), far, ["load_i", "load_p"])  # no way back: must be dropped
    return {"reference": ground, "elements": make.elements}


def ends(element):
    return (element["pos"], element["neg"]) if "pos" in element else (element["a"], element["b"])


def islands(network):
    """Groups of nodes that hang together by what conducts, each with its node at 0 V."""
    group = {}

    def find(node):
        while group.setdefault(node, node) != node:
            node = group[node]
        return node

    for element in network["elements"]:
        a, b = (find(end) for end in ends(element))
        if element["type"] not in ("load_i", "load_p"):
            group[b] = a
    pins = {find(network["reference"]): network["reference"]}
    for element in network["elements"]:
        if element["type"] in ("battery", "alternator"):
            pins.setdefault(find(element["neg"]), element["neg"])
    for node in group:
        pins.setdefault(find(node), node)
    return find, set(pins.values())


def equations(network, index, pins, states):
    """The matrix and its fixed right side for one set of states; a source's current is an unknown."""
    elements = network["elements"]
    sources = [e for e in elements if e["type"] == "battery" or states.get(e["id"]) == "on"]
    size = len(index) + len(sources)
    matrix, right = np.zeros((size, size)), np.zeros(size)

    def conductance(a, b, siemens):
        for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            matrix[row, column] += sign * siemens

    for element in elements:
        a, b = (index[end] for end in ends(element))
        kind = element["type"]
        if kind in ("resistor", "load_r"):
            conductance(a, b, 1 / element["ohm"])
        elif kind in ("diode", "alternator"):
            conductance(a, b, LEAK_S)
        if states.get(element["id"]) == "limit":
            right[a] += element["i_max"]
            right[b] -= element["i_max"]
    for row, source in enumerate(sources, start=len(index)):
        a, b = (index[end] for end in ends(source))
        volts, ohm = {
            "battery": lambda e: (e["emf"], e["ohm"]),
            "alternator": lambda e: (e["v_set"], e["ohm_reg"]),
            "diode": lambda e: (e["vf"], -e["ohm"]),
        }[source["type"]](source)
        # Va - Vb = volts - ohm * i for a source that gives i out of a; a diode takes i in at a.
        out = -1 if source["type"] == "diode" else 1
        matrix[row, a], matrix[row, b], matrix[row, row] = 1, -1, out * abs(ohm)
        matrix[a, row], matrix[b, row] = -out, out
        right[row] = volts
    rows = [index[pin] for pin in pins]
    matrix[rows, :], matrix[rows, rows] = 0, 1  # each is at 0 V; what it passes follows from the others
    return matrix, right, rows


def settle(network, index, pins, states, loads):
    """Node voltages for one set of states, or None if constant power finds no rest."""
    matrix, fixed, at_zero = equations(network, index, pins, states)
    factor = lu_factor(matrix)
    amps = np.array([load.get("amp", 0.0) for load in loads])
    a = np.array([index[load["a"]] for load in loads], dtype=int)
    b = np.array([index[load["b"]] for load in loads], dtype=int)
    power = np.array([load.get("watt", 0.0) for load in loads])
    for _ in range(400):
        right = fixed.copy()
        np.subtract.at(right, a, amps)
        np.add.at(right, b, amps)
        right[at_zero] = 0
        x = lu_solve(factor, right)
        x += lu_solve(factor, right - matrix @ x)  # figures span eight decades
        volts = x[a] - x[b]
        if loads and volts.min() < TOO_LOW_V:
            return None
        new = np.where(power > 0, power / volts, amps) if loads else amps
        change = np.abs(new - amps).max(initial=0.0)
        amps = new
        if change < 1e-14:
            return x
    return x if change < 1e-12 else None


def consistent(network, index, states, x):
    for element in network["elements"]:
        state = states.get(element["id"])
        if state is None:
            continue
        a, b = (index[end] for end in ends(element))
        u = x[a] - x[b]
        if element["type"] == "diode":
            on = u > element["vf"]
            if on != (state == "on"):
                return False
        else:
            amp = (element["v_set"] - u) / element["ohm_reg"]
            if state != ("off" if amp < 0 else "limit" if amp > element["i_max"] else "on"):
                return False
    return True


def solve(network):
    find, pins = islands(network)
    names = list(dict.fromkeys([network["reference"], *(n for e in network["elements"] for n in ends(e))]))
    index = {name: at for at, name in enumerate(names)}
    loads = [e for e in network["elements"] if e["type"] in ("load_i", "load_p")]
    dropped = [e["id"] for e in loads if find(e["a"]) != find(e["b"])]
    loads = [e for e in loads if e["id"] not in dropped]
    bent = [e for e in network["elements"] if e["type"] in ("diode", "alternator")]
    choices = [("on", "off") if e["type"] == "diode" else ("on", "limit", "off") for e in bent]
    for choice in itertools.product(*choices):
        states = {element["id"]: state for element, state in zip(bent, choice)}
        x = settle(network, index, pins, states, loads)
        if x is None or not consistent(network, index, states, x):
            continue
        if any(x[index[e["a"]]] - x[index[e["b"]]] < e["v_cut"] for e in loads):
            return None
        return {name: x[at] for name, at in index.items()}, dropped
    return None


def main():
    seed, count = int(sys.argv[1]), int(sys.argv[2])
    rng = random.Random(seed)
    kinds = ("radial", "meshed", "diodes", "power", "islands", "mixed")
    made = 0
    while made < count:
        kind = kinds[made % len(kinds)]
        made_network = network(rng, kind)
        answer = solve(made_network)
        if answer is None:
            continue
        volts, dropped = answer
        print(json.dumps({"kind": kind, "network": made_network, "node_volts": volts, "dropped": dropped}))
        made += 1


main()
