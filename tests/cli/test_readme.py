"""What README tells a reader to type is there: every command, every option, every key that it names."""

from __future__ import annotations

import contextlib
import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from tuyere.cli.main import COMMANDS, main
from tuyere.tui.actions import ACTIONS, key_words

README = Path(__file__).parents[2] / "README.md"
TEXT = README.read_text(encoding="utf-8")


def lines() -> Iterator[str]:
    """Every command line in it: in its code blocks (`$ ` before it, or after `&&`), and in backticks."""
    blocks = re.findall(r"```(?:sh)?\n(.*?)```", TEXT, re.S)
    for block in blocks:
        for line in re.sub(r"\\\n", " ", block).split("\n"):
            for part in re.split(r"&&", line.removeprefix("$ ")):
                yield part.strip().removeprefix(".venv/bin/")
    prose = re.sub(r"```.*?```", "", TEXT, flags=re.S)
    yield from (" ".join(span.split()).removeprefix(".venv/bin/") for span in re.findall(r"`([^`]+)`", prose))


TYPED = sorted({line for line in lines() if line.startswith("tuyere ")})


def command_of(words: list[str]) -> tuple[click.Command, list[str]]:
    """The command that these words lead to, and what is left of them. UsageError for a name that is not there."""
    found: click.Command = main
    context = click.Context(main, info_name="tuyere")
    while isinstance(found, click.Group) and words and not words[0].startswith("-"):
        inner = found.get_command(context, words[0])
        if inner is None:
            if found.invoke_without_command:
                break
            raise click.UsageError(f"there is no command {words[0]}")
        found, words = inner, words[1:]
    return found, words


def check(line: str) -> None:
    """UsageError unless the command and all of its options are there, each with a value of its kind if it needs one."""
    found, rest = command_of(shlex.split(line)[1:])
    options = {name: one for one in found.params if isinstance(one, click.Option)
               for name in (*one.opts, *one.secondary_opts)}  # fmt: skip
    context = click.Context(found)
    while rest:
        word, rest = rest[0], rest[1:]
        if not word.startswith("--"):
            continue  # an argument
        if word not in options:
            raise click.UsageError(f"{line}: {found.name} has no option {word}")
        if not options[word].is_flag and rest:
            with contextlib.suppress(click.exceptions.Exit):  # a value such as `list` prints and ends
                options[word].type_cast_value(context, rest[0])
            rest = rest[1:]


@pytest.mark.parametrize("line", TYPED)
def test_a_command_that_readme_names_is_there_with_its_options(line: str) -> None:
    check(line)


@pytest.mark.parametrize(
    "line", ["tuyere keeper", "tuyere log shown", "tuyere keep --instal", "tuyere plan --odds many"]
)
def test_one_that_is_not_there_is_noticed(line: str) -> None:
    with pytest.raises(click.UsageError):
        check(line)


def test_the_table_names_every_command_and_only_options_that_its_command_has() -> None:
    rows = re.findall(r"^\| (`tuyere .*?) \| (.*) \|$", TEXT, re.M)
    assert {name for name in COMMANDS if any(f"`tuyere {name}" in row for row, _ in rows)} == set(COMMANDS)
    for row, words in rows:
        [first, *_] = re.findall(r"`([^`]+)`", row)
        for option in re.findall(r"`(--[\w-]+)`", words):
            check(f"{first} {option}")


def test_an_option_named_alone_is_one_of_some_command() -> None:
    known = {name for path in COMMANDS for one in command_of([path])[0].params for name in one.opts}
    assert set(re.findall(r"`(--[\w-]+)`", TEXT)) <= known


def test_the_keys_it_names_do_what_it_says() -> None:
    keys = {key for one in ACTIONS for key in key_words(one.keys).split()}
    assert "`?`" in TEXT and "F5" in TEXT and {"?", "F5"} <= keys


def test_the_first_command_opens_the_screen_and_the_second_runs_the_tests() -> None:
    first, second = (line for line in re.findall(r"```sh\n(.*?)\n```", TEXT, re.S))
    assert first.endswith("tuyere watch") and "pytest" in second
    assert TEXT.index("## Cautions") > 0 and len(TEXT.split()) <= 1600
