"""Every option with declared bounds takes its ends, and names them one step beyond."""

from __future__ import annotations

from collections.abc import Iterator

import click
import pytest
from tuyere.cli.main import main
from tuyere.cli.options import Within

RANGES = (Within, click.IntRange, click.FloatRange)


def bounded(command: click.Command, path: str = "tuyere") -> Iterator[tuple[str, click.ParamType]]:
    """Every parameter with bounds, of every command."""
    context = click.Context(command)
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            found = command.get_command(context, name)
            assert found is not None
            yield from bounded(found, f"{path} {name}")
    for option in command.params:
        if isinstance(option.type, RANGES):
            yield f"{path} {option.opts[0]}", option.type


FOUND = dict(bounded(main))


def test_the_commands_do_have_bounds() -> None:
    assert len(FOUND) >= 8, FOUND
    assert not [name for name, kind in FOUND.items() if not isinstance(kind, Within)]  # ours say what to give


@pytest.mark.parametrize("name", FOUND)
def test_an_option_takes_its_ends_and_names_them_beyond(name: str) -> None:
    kind = FOUND[name]
    assert isinstance(kind, Within)
    step = 1 if kind.whole else (kind.high - kind.low) * 1e-6
    show = (lambda value: str(int(value))) if kind.whole else repr
    for value in (kind.low, kind.low + step, kind.high - step, kind.high):
        assert kind.convert(show(value), None, None) == value
    for value in (kind.low - step, kind.high + step):
        with pytest.raises(click.BadParameter, match=f"from {kind.low:g} to ".replace("+", r"\+")) as said:
            kind.convert(show(value), None, None)
        assert f"{kind.high:g}" in said.value.message and kind.what in said.value.message
