"""A router for two layers: every net is led over a grid by the cheapest way, and nets that touch are led again.

The cost of a place rises each time that two nets want it, until one of them goes elsewhere (L. McMurchie and
C. Ebeling, "PathFinder: A Negotiation-Based Performance-Driven Router for FPGAs", 1995). Ground is not led: it is the
copper that is left over on both sides.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numba import njit

GROUND = "gnd"
EDGE = 0.6  # mm of copper to the board's edge
HOLE = 0.3  # mm of copper to a bare hole
SCREW = 3.4  # mm from the middle of a mounting hole that its screw's head needs
NO_VIA = 1.0  # mm: copper so wide changes sides only where a leg goes through
STITCH = 8.0  # mm from one via between the grounds to the next
ROUNDS = 60
ALONG, ACROSS, CHANGE = 10, 16, 90  # cost of a step with a layer's way, across it, and of a via
BIG = 1 << 30


@njit(cache=False)
def _spread(start, goal, blocked, cost, no_via, wide, high):
    """The cheapest way from any start node to any goal node; the nodes, goal first, or an empty array.

    A node is (layer * high + y) * wide + x. Layer 0 goes sideways, layer 1 up and down.
    """
    size = 2 * wide * high
    best = np.full(size, BIG, np.int64)
    back = np.full(size, -1, np.int64)
    heap_cost = np.empty(size * 4, np.int64)
    heap_node = np.empty(size * 4, np.int64)
    count = 0
    for node in start:
        best[node] = 0
        heap_cost[count], heap_node[count] = 0, node
        count += 1
    # all starts cost 0: any order is a heap
    found = -1
    plane = wide * high
    while count > 0:
        now, node = heap_cost[0], heap_node[0]
        count -= 1
        last_cost, last_node = heap_cost[count], heap_node[count]
        i = 0
        while True:
            child = 2 * i + 1
            if child >= count:
                break
            if child + 1 < count and heap_cost[child + 1] < heap_cost[child]:
                child += 1
            if heap_cost[child] >= last_cost:
                break
            heap_cost[i], heap_node[i] = heap_cost[child], heap_node[child]
            i = child
        heap_cost[i], heap_node[i] = last_cost, last_node
        if now > best[node]:
            continue
        if goal[node]:
            found = node
            break
        layer, rest = node // plane, node % plane
        y, x = rest // wide, rest % wide
        for step in range(5):
            if step == 4:
                if no_via[rest]:
                    continue
                other = (1 - layer) * plane + rest
                price = CHANGE
            else:
                nx = x + (1 if step == 0 else -1 if step == 1 else 0)
                ny = y + (1 if step == 2 else -1 if step == 3 else 0)
                if nx < 0 or ny < 0 or nx >= wide or ny >= high:
                    continue
                other = layer * plane + ny * wide + nx
                price = ALONG if (step < 2) == (layer == 0) else ACROSS
            if blocked[other]:
                continue
            total = now + price + cost[other] + (cost[(1 - layer) * plane + rest] if step == 4 else 0)
            if total < best[other] and count < heap_cost.shape[0]:
                best[other] = total
                back[other] = node
                i = count
                count += 1
                while i > 0:
                    parent = (i - 1) // 2
                    if heap_cost[parent] <= total:
                        break
                    heap_cost[i], heap_node[i] = heap_cost[parent], heap_node[parent]
                    i = parent
                heap_cost[i], heap_node[i] = total, other
    if found < 0:
        return np.empty(0, np.int64)
    length = 1
    node = found
    while back[node] >= 0:
        node = back[node]
        length += 1
    way = np.empty(length, np.int64)
    node = found
    for i in range(length):
        way[i] = node
        node = back[node]
    return way


class Router:
    """Pads and nets of one board."""

    def __init__(self, pads: list[dict], layout: dict, widths: dict, kinds: dict[str, str]) -> None:
        self.pads, self.layout, self.widths, self.kinds = pads, layout, widths, kinds
        self.grid = layout["grid"]
        self.wide = math.floor(layout["wide"] / self.grid) + 1
        self.high = math.floor(layout["high"] / self.grid) + 1
        self.plane = self.wide * self.high
        self.nets = sorted({p["net"] for p in pads if p["net"] and p["net"] != GROUND})
        heavy = widths["heavy"]["nets"]
        self.classes = sorted({widths["signal"], widths["tap"], widths["via"], *heavy.values()})
        ys, xs = np.mgrid[0 : self.high, 0 : self.wide]
        self.xs, self.ys = xs * self.grid, ys * self.grid
        self.discs: dict[float, list[tuple[int, int]]] = {}
        # how many other nets' copper is too near, for a centre line of each class; a net's own share is taken out first
        self.near = {c: np.zeros((2, self.high, self.wide), np.int32) for c in self.classes}
        self.history = np.zeros((2, self.high, self.wide), np.int32)
        self.walls = {c: self._walls(c) for c in self.classes}
        self.laid: dict[str, list[tuple[float, np.ndarray]]] = {}

    def _walls(self, width: float) -> dict[str, np.ndarray]:
        """Net -> where a centre line of `width` would come too near to the edge, a hole or a pad of another net."""
        clear = self.widths["clearance"]
        reach = width / 2
        edge = (
            (self.xs < EDGE + reach)
            | (self.ys < EDGE + reach)
            | (self.xs > self.layout["wide"] - EDGE - reach)
            | (self.ys > self.layout["high"] - EDGE - reach)
        )
        for x, y in self.layout["holes"]:
            edge |= np.hypot(self.xs - x, self.ys - y) < SCREW + reach
        count = np.zeros((self.high, self.wide), np.int32)
        own: dict[str, np.ndarray] = {}
        for pad in self.pads:
            away = np.hypot(
                np.maximum(abs(self.xs - pad["x"]) - pad["wide"] / 2, 0.0),
                np.maximum(abs(self.ys - pad["y"]) - pad["high"] / 2, 0.0),
            )
            if pad["hole"]:
                edge |= away < HOLE + reach
                continue
            near = away < clear + reach
            count += near
            net = pad["net"]
            own[net] = own.get(net, np.zeros_like(count)) + near
        nothing = np.zeros_like(count)
        return {net: edge | (count - own.get(net, nothing) > 0) for net in self.nets}

    def _disc(self, radius: float) -> list[tuple[int, int]]:
        if radius not in self.discs:
            r = math.ceil(radius / self.grid)
            self.discs[radius] = [
                (dx, dy)
                for dy in range(-r, r + 1)
                for dx in range(-r, r + 1)
                if math.hypot(dx, dy) * self.grid < radius - 1e-6
            ]
        return self.discs[radius]

    def _stamp(self, net: str, sign: int) -> None:
        """Add a net's copper to what is near, or take it out: each place counts once."""
        clear = self.widths["clearance"]
        for c in self.classes:
            mark = np.zeros((2, self.high, self.wide), bool)
            for width, nodes in self.laid.get(net, []):
                radius = (width + c) / 2 + clear
                layer, rest = nodes // self.plane, nodes % self.plane
                y, x = rest // self.wide, rest % self.wide
                for dx, dy in self._disc(radius):
                    nx, ny = x + dx, y + dy
                    good = (nx >= 0) & (ny >= 0) & (nx < self.wide) & (ny < self.high)
                    mark[layer[good], ny[good], nx[good]] = True
            self.near[c] += sign * mark

    def _nodes_of(self, pad: dict) -> np.ndarray:
        """The grid's nodes within a pad's copper, on both layers."""
        inside = (abs(self.xs - pad["x"]) <= pad["wide"] / 2 - 0.2) & (abs(self.ys - pad["y"]) <= pad["high"] / 2 - 0.2)
        found = np.flatnonzero(inside)
        return np.concatenate([found, found + self.plane])

    def _lay(self, net: str, penalty: int) -> None:
        """Lead one net from nothing: heavy pads first, then the rest."""
        via = self.widths["via"]
        pads = [p for p in self.pads if p["net"] == net]
        heavy = self.widths["heavy"]
        strong = [p for p in pads if net in heavy["nets"] and self.kinds.get(p["ref"]) in heavy["kinds"]]
        weak = [p for p in pads if p not in strong]
        tap = self.widths["tap"] if net in heavy["nets"] else self.widths["signal"]
        laid: list[tuple[float, np.ndarray]] = []
        tree: set[int] = set()
        order = strong + weak
        left = [(p, heavy["nets"][net] if p in strong and len(strong) > 1 else tap) for p in order]
        first = left.pop(0)[0]
        tree.update(self._nodes_of(first).tolist())
        while left:
            stage = [one for one in left if one[1] == left[0][1]]
            width = stage[0][1]
            goal = np.zeros(2 * self.plane, np.bool_)
            for pad, _ in stage:
                goal[self._nodes_of(pad)] = True
            wall = self.walls[width][net].ravel()
            blocked = np.concatenate([wall, wall])
            cost = (self.near[width] * penalty + self.history).ravel().astype(np.int64)
            no_via = self.walls[via][net].ravel() if width < NO_VIA else np.ones(self.plane, np.bool_)
            start = np.array(sorted(tree), np.int64)
            blocked[goal] = False
            way = _spread(start, goal, blocked, cost, no_via, self.wide, self.high)
            if not len(way):
                raise RuntimeError(f"no way at all for {net} to {', '.join(p['ref'] for p, _ in stage)}")
            laid.append((width, way))
            vias = np.array([b for a, b in pairwise(way) if a % self.plane == b % self.plane], np.int64)
            if len(vias):
                laid.append((via, np.concatenate([vias, (vias + self.plane) % (2 * self.plane)])))
            tree.update(way.tolist())
            for one in stage:
                if goal_hit(self._nodes_of(one[0]), way):
                    tree.update(self._nodes_of(one[0]).tolist())
                    left.remove(one)
        self.laid[net] = laid

    def _touching(self, net: str) -> int:
        """How many places of a net are too near to another one."""
        total = 0
        for width, nodes in self.laid[net]:
            hit = self.near[width].reshape(-1)[nodes] > 0
            total += int(hit.sum())
            self.history.reshape(-1)[nodes[hit]] += 6
        return total

    def run(self, say=lambda words: None) -> dict[str, list[tuple[float, np.ndarray]]]:
        """All nets; RuntimeError if they do not come apart."""
        heavy = self.widths["heavy"]["nets"]
        order = sorted(self.nets, key=lambda net: (-heavy.get(net, 0.0), net))
        penalty = 4
        for net in order:
            self._lay(net, penalty)
            self._stamp(net, 1)
        for turn in range(ROUNDS):
            again = []
            for net in order:
                self._stamp(net, -1)
                if self._touching(net):
                    again.append(net)
                    self._lay(net, penalty)
                self._stamp(net, 1)
            say(f"round {turn + 1}: {len(again)} nets touch others")
            if not again:
                return self.laid
            penalty = min(penalty + 3, 120)
        raise RuntimeError(f"after {ROUNDS} rounds these still touch: {', '.join(again)}")

    def stitches(self) -> list[tuple[float, float]]:
        """Places for vias that join the ground of both sides: one to a square of 8 mm, where nothing else is."""
        via = self.widths["via"]
        free = ~self.walls[via][self.nets[0]] & (self.near[via].sum(axis=0) == 0)
        for wall in self.walls[via].values():
            free &= ~wall
        found = []
        step = round(STITCH / self.grid)
        for y in range(0, self.high - step, step):
            for x in range(0, self.wide - step, step):
                spots = np.argwhere(free[y : y + step, x : x + step])
                if len(spots):
                    dy, dx = spots[np.argmin(abs(spots - step / 2).sum(axis=1))]
                    found.append(((x + int(dx)) * self.grid, (y + int(dy)) * self.grid))
        return found


def goal_hit(nodes: np.ndarray, way: np.ndarray) -> bool:
    """Whether a way ends in a pad's nodes."""
    return bool(np.isin(way, nodes).any())


def route(pads: list[dict], layout: dict, widths: dict, kinds: dict[str, str], say=print) -> dict:
    """Tracks and vias in mm: {"tracks": [net, layer, width, x1, y1, x2, y2], "vias": [net, x, y]}."""
    router = Router(pads, layout, widths, kinds)
    laid = router.run(say)
    tracks, vias = [], []
    for net in router.nets:
        seen: set[tuple] = set()
        for width, way in laid.get(net, []):
            if width == widths["via"]:
                for node in way[: len(way) // 2]:
                    rest = int(node) % router.plane
                    vias.append([net, rest % router.wide * router.grid, rest // router.wide * router.grid])
                continue
            points = [
                (int(n) // router.plane, int(n) % router.plane % router.wide, int(n) % router.plane // router.wide)
                for n in way
            ]
            for a, b in straight(points):
                key = (a, b, width)
                if key not in seen and a[1:] != b[1:]:
                    seen.add(key)
                    tracks.append([net, a[0], width, *(v * router.grid for v in (*a[1:], *b[1:]))])
        for end in ends(laid.get(net, []), [p for p in pads if p["net"] == net], router):
            tracks.append([net, *end])
    return {"tracks": tracks, "vias": vias, "stitches": router.stitches()}


def ends(laid, pads, router):
    """A short piece from where a way ends within a pad to the pad's middle, off the grid."""
    for width, way in laid:
        if width == router.widths["via"]:
            continue
        for node in (int(way[0]), int(way[-1])):
            layer, rest = divmod(node, router.plane)
            x, y = rest % router.wide * router.grid, rest // router.wide * router.grid
            for pad in pads:
                within = abs(x - pad["x"]) <= pad["wide"] / 2 and abs(y - pad["y"]) <= pad["high"] / 2
                if within and math.hypot(x - pad["x"], y - pad["y"]) > 0.01:
                    yield [layer, min(width, pad["wide"], pad["high"]), x, y, pad["x"], pad["y"]]


def straight(points):
    """The straight pieces of a way of (layer, x, y)."""
    begin = points[0]
    for i in range(1, len(points)):
        a, b = points[i - 1], points[i]
        if a[0] != b[0]:
            if begin[1:] != a[1:]:
                yield begin, a
            begin = b
            continue
        last = i + 1 == len(points)
        turns = not last and (
            points[i + 1][0] != b[0] or (points[i + 1][1] - b[1], points[i + 1][2] - b[2]) != (b[1] - a[1], b[2] - a[2])
        )
        if last or turns:
            if begin[1:] != b[1:]:
                yield begin, b
            begin = b
