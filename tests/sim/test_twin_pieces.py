"""Six pieces at their own times in front of the real firmware: its probes read those they sit in, its hello says the
rest."""

from __future__ import annotations

from hearth.core import fields
from tuyere.meat import piece_slots as ps
from tuyere.meat.piece import PieceOfMeat
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.script import Script, still
from tuyere.sim.twin import Twin
from twin_kit import Host, run_until


def test_six_pieces_go_on_and_come_out_each_in_its_time() -> None:
    """The third piece has probe 1 and the fifth probe 2; the first has none, and comes out first."""
    script = Script(hours=1.0, weather=still(1.0), pieces=[PieceOfMeat(start_c=4.0 + 4.0 * i) for i in range(6)])
    script.probes, script.later = [0, 0, 1, 0, 2, 0], [0.0, 0.0, 60.0, 0.0, 120.0, 0.0]
    for i in range(24):  # as many as a long night of six pieces has
        script.add(at.WRAPPING, 3000.0 + i, ps.PAPER, 1.0 + i % 6)
    world = Outside("drum", 1, script)
    world.state[at.ARRIVED], world.constants[at.MEAT_AFTER], world.constants[at.MEAT_WAIT] = 0.0, 0.0, 0.0
    twin = Twin(world, Line(), speed=0, hands=script.hands(), plan="mark", begins=1_800_000_000_000)
    host = Host(twin.line.path, keep_every=1)
    try:
        run_until(twin, lambda: bool(host.hellos))
        said = host.hellos[0]
        assert (said["plan"], said["begins"], said["came_out"]) == ("mark", 1_800_000_000_000, [0] * 6)
        assert [tuple(row) for row in said["hands"]] == script.hands() and len(said["hands"]) == 30
        run_until(twin, lambda: world.now_s > 200.0)
        world.pieces[ps.DONE_S], taken = 1.0, twin.outside_ms
        run_until(twin, lambda: world.readings.out == 1)
        host.say("h", {"ask": 2})
        run_until(twin, lambda: len(host.hellos) == 2)
        assert taken < host.hellos[1]["came_out"][0] <= taken + 20_000 and host.hellos[1]["came_out"][1:] == [0] * 5
        reads = [(now.meat_1, now.meat_2, now.meat_3) for now, _ in host.cycles()]
        twin.power_cut()  # the board forgets it, the twin does not
        host.say("h", {"ask": 3})
        run_until(twin, lambda: len(host.hellos) == 3)
        assert host.hellos[2]["came_out"] == host.hellos[1]["came_out"]
    finally:
        host.close()
        twin.close()
    first = [next(i for i, row in enumerate(reads) if row[k] != fields.ABSENT) for k in (0, 1)]
    assert 28 <= first[1] - first[0] <= 32  # a minute later
    assert abs(reads[first[0]][0] - 1200) < 60 and abs(reads[first[1]][1] - 2000) < 60
    assert all(row[2] == fields.ABSENT for row in reads)
