"""The steps of the build: which part is placed in which, and the board as it is after each.

Run it to see the table that the guide has.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from circuit import Circuit, read

HEAD = "| step | solder | then fit, without solder | what it shows |\n|---|---|---|---|\n"


def refs(words: str) -> list[str]:
    """Every part named: "R4 R13-R15, U3" gives R4, R13, R14, R15, U3."""
    named = []
    for kind, first, last in re.findall(r"\b([A-Z]{1,2})(\d+)(?:-[A-Z]{1,2}(\d+))?\b", words):
        named += [f"{kind}{number}" for number in range(int(first), int(last or first) + 1)]
    return named


@dataclass(frozen=True)
class Step:
    """One row of steps.toml, numbered from 1."""

    number: int
    shows: str
    solder: str = ""
    fit: str = ""
    sockets: str = ""

    def placed(self) -> list[str]:
        """The parts that are in place after it and were not before."""
        return refs(self.solder) + refs(self.fit)

    def cells(self) -> tuple[str, str, str, str]:
        """Its row in the guide."""
        sockets = f"{self.sockets}'s socket" if self.sockets else ""
        solder = ", ".join(word for word in (self.solder, sockets) if word)
        return (str(self.number), solder, self.fit, self.shows)


def steps() -> list[Step]:
    """All of them, in order."""
    return [Step(number, **row) for number, row in enumerate(read("steps.toml")["step"], 1)]


def table() -> str:
    """The guide's table."""
    return HEAD + "".join("| " + " | ".join(step.cells()) + " |\n" for step in steps())


def after(circuit: Circuit, number: int) -> Circuit:
    """The circuit as it stands once step `number` is done, test points included."""
    there = {ref for step in steps() if step.number <= number for ref in step.placed()}
    there |= {part.ref for part in circuit.kind("test")}
    return replace(circuit, parts={ref: part for ref, part in circuit.parts.items() if ref in there})


def faulty(circuit: Circuit, order: list[Step]) -> Iterator[str]:
    """What is wrong with the steps, one sentence each: a part placed never or twice, or none of ours; one that is
    soldered where it is to be fitted, or the other way round; a socket that comes too late, or not at all."""
    placed: dict[str, int] = {}
    sockets: dict[str, int] = {}
    chips = {part.ref for part in circuit.kind("chip")}
    for step in order:
        for ref in step.placed():
            if ref in placed:
                yield f"{ref} is placed in step {placed[ref]} and in step {step.number}."
            placed[ref] = step.number
        for ref in refs(step.sockets):
            sockets[ref] = step.number
        for ref in refs(step.solder):
            if ref in chips or (ref in circuit.parts and not circuit.of(circuit.parts[ref]).get("board", True)):
                yield f"Step {step.number} solders {ref}, which is fitted without solder."
        for ref in refs(step.fit):
            if ref not in chips and ref in circuit.parts and circuit.on_board(circuit.parts[ref]):
                yield f"Step {step.number} fits {ref}, which is soldered."
    for ref, number in {**placed, **sockets}.items():
        if ref not in circuit.parts:
            yield f"Step {number} names {ref}, which is not in the circuit."
    for ref, part in circuit.parts.items():
        if circuit.of(part)["kind"] != "test" and ref not in placed:
            yield f"{ref} is placed in no step."
    for ref in sorted(chips ^ set(sockets)):
        yield f"{ref} has {'no socket' if ref in chips else 'a socket and is no chip'}."
    for ref in sorted(chips & set(sockets) & set(placed)):
        if sockets[ref] > placed[ref]:
            yield f"{ref} goes into its socket in step {placed[ref]}, which is soldered in step {sockets[ref]}."


if __name__ == "__main__":
    print(table(), end="")
