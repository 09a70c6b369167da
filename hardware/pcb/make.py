"""The printed board from the net list: placed, routed, checked, with fab files and pictures. One command:

    python hardware/pcb/make.py

It needs KiCad 6 (`apt-get install --no-install-recommends kicad kicad-footprints`), whose own Python is called for what
KiCad does; the router is ours. `layout.toml` says where the parts stand, `footprints.toml` what they look like.
"""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]
from circuit import Circuit, Part  # noqa: E402
from netlist import build  # noqa: E402
from parts import value  # noqa: E402
from wires import LEFT, RIGHT  # noqa: E402

KICAD_PYTHON = "/usr/bin/python3"  # where Debian puts pcbnew
PROGRAMS = ("make.py", "router.py", "kicad_side.py", "kicad_finish.py")  # all that has a say in what is made
MADE = ("tuyere.kicad_pcb", "drc.txt", "fab.sha256")


def read(name: str) -> dict:
    """A table of this folder."""
    return tomllib.loads((HERE / name).read_text())


def pad_nets(circuit: Circuit, part: Part, footprint: dict) -> dict[str, str]:
    """Pad number -> net of one part."""
    if part.type == "pico":
        names = [*LEFT.split(), *reversed(RIGHT.split())]
        return {str(number): part.pins[name] for number, name in enumerate(names, 1) if name in part.pins}
    of = circuit.of(part)
    legs = {pin: number.split(",")[0] for pin, number in of.get("legs", {}).items()}
    names = footprint.get("pads") or legs
    return {names.get(pin, pin): net for pin, net in part.pins.items() if pin not in of.get("off_board", ())}


def printed(circuit: Circuit, part: Part) -> str:
    """What stands beside a part on the board: its value, or its type."""
    worth = value(part).replace(" ", "").replace("nF", "n")
    return worth or circuit.of(part).get("type", "").replace(" ", "")


def for_kicad(circuit: Circuit) -> dict:
    """The circuit as `kicad_side.py` reads it."""
    footprints = read("footprints.toml")
    parts = {}
    for ref, part in circuit.parts.items():
        if not circuit.on_board(part):
            continue
        footprint = footprints[part.type]
        pads = pad_nets(circuit, part, footprint)
        parts[ref] = {"footprint": footprint["name"], "value": printed(circuit, part), "pads": pads, "type": part.type}
    nets = sorted({net for part in parts.values() for net in part["pads"].values()})
    return {"parts": parts, "nets": nets, "layout": read("layout.toml"), "widths": read("widths.toml")}


def kicad(what: str, folder: Path, *more: str) -> str:
    """Run KiCad's side; what it prints."""
    command = [KICAD_PYTHON, str(HERE / "kicad_side.py"), what, str(folder), *more]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    if ran.returncode:
        raise SystemExit(f"KiCad's side failed ({what}):\n{ran.stderr or ran.stdout}")
    return ran.stdout


def made_of(data: dict, out: Path) -> str:
    """What the files in `out` are made of, a line a part: the circuit's data, the programs, and the files themselves.

    While it says the same as the stored `made_of.sha256`, the stored files are those that these sources made.
    """
    digests = {"circuit.json": hashlib.sha256(json.dumps(data).encode()).hexdigest()}
    for path in (*(HERE / name for name in PROGRAMS), *(out / name for name in MADE)):
        digests[path.name] = hashlib.sha256(path.read_text(encoding="utf-8").encode()).hexdigest()
    return "".join(f"{digest}  {name}\n" for name, digest in digests.items())


def main(out: Path = HERE, pictures: Path = HERE.parent / "pictures") -> None:
    """Make everything anew: board, report and fab files in `out`, a picture of each side in `pictures`."""
    import picture
    import router

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        data = for_kicad(build())
        (folder / "circuit.json").write_text(json.dumps(data))
        said = kicad("place", folder)
        if said.strip():
            raise SystemExit(said)
        pads = json.loads((folder / "pads.json").read_text())
        routes = router.route(
            pads, data["layout"], read("widths.toml"), {r: p["type"] for r, p in data["parts"].items()}
        )
        (folder / "routes.json").write_text(json.dumps(routes))
        print(kicad("finish", folder, str(out)), end="")
    (out / "made_of.sha256").write_text(made_of(data, out))
    for name, text in picture.files(out / "tuyere.kicad_pcb").items():
        (pictures / name).write_text(text)


if __name__ == "__main__":
    main()
