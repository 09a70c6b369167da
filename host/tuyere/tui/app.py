"""The app: paints at once, finds the engine in a worker, and hands every snapshot to the watch screen."""

from __future__ import annotations

import asyncio
import contextlib
import getpass
import os
import time
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from textual.app import App, SystemCommand
from textual.binding import Binding
from textual.command import CommandPalette
from textual.screen import Screen
from textual.scrollbar import ScrollBar, ScrollBarRender
from textual.worker import Worker, WorkerState

from tuyere import unexpected
from tuyere.chart.colours import Palette, palette
from tuyere.chart.history import History
from tuyere.client.follow import Follower
from tuyere.client.source import Connect, why
from tuyere.cook.snapshot import Snapshot, Trend
from tuyere.text import as_said
from tuyere.tui import preferences, themes
from tuyere.tui.actions import ACTIONS, ENDED, NO_ENGINE, Action, keymap
from tuyere.tui.bell import EVERY, UNREACHED, Bell, urgent
from tuyere.tui.handlers import orders
from tuyere.tui.screens.dialog import Dialog
from tuyere.tui.screens.watch import WatchScreen
from tuyere.tui.terminal import driver
from tuyere.tui.view import Asked, View

T = TypeVar("T")
AGAIN = 2.0  # s between tries to reach the engine
QUIET = 15.0  # s without a message from the engine until the screen counts as old
UNANSWERED = 30.0  # s after which a request is no longer shown as asked
CHECK = 1.0  # s between looks at the two above
SAME = 0.006  # C; the board keeps hundredths


def person() -> str:
    """Who sits at this screen, for the log: the name they are logged in by."""
    with contextlib.suppress(OSError, KeyError, ImportError):
        return f"{getpass.getuser()}, on the screen"
    return "on the screen"


class WatchApp(App[str]):
    """The watch of one pit. Its result is a sentence to print after the screen has closed."""

    TITLE = "Tuyere"
    REGISTRY: Sequence[Action] = ACTIONS
    HANDLERS: Mapping[str, Callable[[Any], Awaitable[None]]] = orders.HANDLERS
    CSS = themes.STYLES
    COMMAND_PALETTE_BINDING = "f2"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (80, "-wide"), (120, "-broad"), (150, "-vast")]
    VERTICAL_BREAKPOINTS = [(0, "-short"), (24, "-tall"), (35, "-high")]
    BINDINGS = [
        Binding("ctrl+q", "leave_at_once", "quit", show=False, system=True, priority=True),
        Binding("ctrl+c", "leave_at_once", "quit", show=False, system=True, priority=True),
    ]

    def __init__(
        self,
        connect: Connect,
        home: Path,
        *,
        units: str | None = None,
        utf8: bool = True,
        attach: Connect | None = None,
        again: Callable[[], Awaitable[None]] | None = None,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        """`units` "F" or "C" is remembered; None takes what was remembered. `connect` finds an engine or starts one,
        `attach` starts none: it is for the time after an engine was ended on purpose. `again` waits before the next
        try."""
        # https://no-color.org: any value but an empty one. Textual takes an empty one too.
        self.colour = not os.environ.get("NO_COLOR")
        if self.colour:
            os.environ.pop("NO_COLOR", None)
        # With its own colours Textual makes NO_COLOR a grey picture; with the terminal's it sends none at all.
        super().__init__(ansi_color=None if self.colour else True, driver_class=driver())
        self.animation_level = "none"
        self.home, self.monotonic = home, monotonic
        self.who = person()
        self.broken = ""  # why the screen itself could not go on, in a sentence
        self.settings, self.trouble = preferences.load(home)
        if units and units != self.settings.units:
            self.settings.units = units
            self.remember()
        self.utf8 = utf8
        self.set_class(not utf8, "-ascii")
        ScrollBar.renderer = ScrollBarRender if utf8 else themes.AsciiBars
        self.keys, wrong = keymap(self.settings.keys, self.REGISTRY)
        self.trouble += wrong
        self.view = View(
            units=self.settings.units, window=preferences.WINDOWS[self.settings.window], ascii=not utf8, keys=self.keys
        )
        self.history = History()
        again = again or (lambda: asyncio.sleep(AGAIN))
        self.follower = Follower(self, connect, attach or connect, again, lambda: self.history.last)
        self.heard = self.moved = monotonic()  # a word from the engine, a new record
        self.chime = Bell()
        self.palette: Palette = palette(self.settings.colours, colour=self.colour, utf8=utf8)
        self.watch_screen = self.make_screen()
        self.dress()

    def make_screen(self) -> WatchScreen:
        """The screen itself."""
        return WatchScreen(self.history)

    def get_default_screen(self) -> Screen[None]:
        return self.watch_screen

    def on_mount(self) -> None:
        self.set_keymap(self.keys)
        self.set_interval(CHECK, self.check)
        self.call_after_refresh(self.begin)

    def begin(self) -> None:
        """After the first paint."""
        for words in self.trouble:
            self.say(words, "warning")
        self.run_follower()

    # -- looks ---------------------------------------------------------------------

    def dress(self) -> None:
        """Put on the palette of the settings."""
        self.palette = palette(self.settings.colours, colour=self.colour, utf8=self.utf8)
        wanted = themes.theme(self.palette)
        self.register_theme(wanted)
        self.theme = wanted.name

    def look(self, **changes: str) -> None:
        """Change settings of the screen, remember them, show them."""
        for name, value in changes.items():
            setattr(self.settings, name, value)
        self.view.units = self.settings.units
        self.view.window = preferences.WINDOWS[self.settings.window]
        if "colours" in changes:
            self.dress()
        self.remember()
        self.show()

    def remember(self) -> None:
        try:
            preferences.save(self.home, self.settings)
        except OSError as error:
            self.trouble.append(f"The screen's settings were not written ({error}); they hold until you leave.")

    def show(self) -> None:
        self.watch_screen.show(self.view, self.palette)
        if isinstance(self.screen, Dialog):
            self.screen.follow()

    def say(self, words: str, severity: str = "information") -> None:
        for standing in [one for one in self._notifications if one.message == words]:
            self._unnotify(standing)  # said again, it stands once
        self.notify(words, severity=severity, timeout=8, markup=False)  # type: ignore[arg-type]

    # -- the engine ------------------------------------------------------------------

    def found(self) -> None:
        self.view.where, self.view.trouble = "open", ""

    def take_end(self, words: str) -> None:
        """The engine was ended on purpose: say so, and only watch for another to start."""
        self.view.where, self.view.trouble = "ended", words
        self.view.asked.clear()
        self.show()

    def start_engine(self) -> None:
        """Start an engine again after one was ended on purpose."""
        self.follower.ended = False
        self.lost("")
        self.run_follower()

    def run_follower(self) -> None:
        self.run_worker(self.follower.run(), name="engine", exclusive=True, group="engine")

    def lost(self, trouble: str) -> None:
        self.view.where = "lost" if self.view.shot else "looking"
        self.view.trouble = trouble
        self.view.asked.clear()
        self.show()

    def take_snapshot(self, shot: Snapshot) -> None:
        view, now = self.view, self.monotonic()
        cycle, last = shot.cycle, view.cycle
        if cycle is not None and (last is None or (cycle.at, cycle.sequence) != (last.at, last.sequence)):
            self.moved = now
        self.heard, view.quiet, view.shot = now, False, shot
        if cycle is not None:
            view.asked = [
                a for a in view.asked
                if not (a.name == "band" and abs(a.low - cycle.low) < SAME and abs(a.high - cycle.high) < SAME)
            ]  # fmt: skip
        if shot.cook and self.history.cook is not None and shot.cook.id != self.history.cook:
            self.history.clear(shot.cook.id)
        self.keep_time(now)
        self.show()

    def take_trend(self, trend: Trend) -> None:
        self.heard = self.monotonic()
        if self.history.add(trend):
            self.watch_screen.redraw()

    def check(self) -> None:
        """Each second: update the age of what is shown, drop unanswered requests, ring the bell if it is due."""
        if not self.screen_stack:  # the last screen has been taken down: the app is leaving
            return
        view, now = self.view, self.monotonic()
        for asked in [a for a in view.asked if now - a.at > UNANSWERED]:
            view.asked.remove(asked)
            self.say(f"The board has not shown {asked.words}; look at the link and ask again.", "warning")
        self.keep_time(now)
        view.quiet = view.where == "open" and view.shot is not None and view.waited > QUIET
        self.show()

    def keep_time(self, now: float) -> None:
        """Count the age of what is shown, and ring if something urgent stands."""
        view = self.view
        view.waited, view.unmoved = now - self.heard, now - self.moved
        unheard = view.shot is not None and view.shot.waking.unheard  # nobody is reached: the bell rings in any case
        due = view.past is None and self.chime.due(urgent(view, QUIET), now, UNREACHED if unheard else EVERY)
        if due and (unheard or self.settings.bell == "on"):
            self.bell()

    # -- asking ----------------------------------------------------------------------

    async def attempt(self, method: str, **params: Any) -> tuple[Any, str]:
        """Call the engine: its answer, and why it was not done in a sentence, empty if it was."""
        source = self.follower.source
        if source is None:
            return None, NO_ENGINE
        try:
            answer = await source.call(method, **params)
        except Exception as error:
            return None, self.view.said(getattr(error, "said", "") or why(error))
        if isinstance(answer, dict) and answer.get("ok") is False:
            return answer, self.view.said(as_said(answer.get("words") or "It was not done."))
        return answer, ""

    async def order(self, name: str, words: str, **params: Any) -> str:
        """Give the board an order; "" if it took it, else why not. Shown as asked until answered, a band until the
        board holds it."""
        asked = Asked(name, words, self.monotonic(), params.get("low", 0.0), params.get("high", 0.0))
        self.view.asked = [a for a in self.view.asked if a.name != name] + [asked]
        self.show()
        _, trouble = await self.attempt("order", name=name, **params)
        cycle = self.view.cycle
        held = cycle and abs(asked.low - cycle.low) < SAME and abs(asked.high - cycle.high) < SAME
        if trouble or name != "band" or held:
            self.view.asked = [a for a in self.view.asked if a is not asked]
        self.show()
        return trouble

    def tell(self, trouble: str) -> None:
        """Say why something was not done, if it was not."""
        if trouble:
            self.say(trouble, "warning")

    async def ask(self, screen: Screen[T]) -> T | None:
        """Open a dialog and wait for its answer. What was said before goes: it would cover the dialog's last lines."""
        self.clear_notifications()
        return await self.push_screen_wait(screen)

    def action(self, name: str) -> Action:
        """The action of that id."""
        return next(one for one in self.REGISTRY if one.id == name)

    def do(self, name: str) -> None:
        """Do what the action of that id does, or say why it does not apply."""
        action = self.action(name)
        if not action.when(self.view):
            keys = {a.id: self.view.key(a.id) for a in ACTIONS}
            asleep = ENDED if self.follower.ended else NO_ENGINE
            self.say(((action.unfit if self.view.where == "open" else "") or asleep).format_map(keys), "warning")
            return
        self.run_worker(self.HANDLERS[name](self), name=name, group="doing", exit_on_error=False)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What a key does may fail; the screen goes on."""
        worker = event.worker
        if event.state is WorkerState.ERROR and worker.group == "doing" and worker.error is not None:
            doing = f"The key for {self.action(worker.name).words!r}"
            self.say(unexpected.keep(self.home, worker.error, doing), "error")

    def _handle_exception(self, error: Exception) -> None:
        self.broken = self.broken or unexpected.keep(self.home, error, "the screen")
        super()._handle_exception(error)

    def _print_error_renderables(self) -> None:
        if self.broken:
            self._exit_renderables.clear()  # the file has it; the command says the sentence
        super()._print_error_renderables()

    def action_command_palette(self) -> None:
        """Find a command by its words."""
        if not isinstance(self.screen, CommandPalette):
            self.push_screen(CommandPalette(placeholder="Find a command by its words", id="--command-palette"))

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        """The palette: what applies now, from the registry."""
        for action in self.REGISTRY:
            if action.id != "palette" and action.when(self.view):
                yield SystemCommand(action.words, action.help, lambda name=action.id: self.do(name))

    # -- leaving ---------------------------------------------------------------------

    def leaving(self) -> str:
        """What goes on without this screen; empty if there is nothing to say."""
        shot = self.view.shot
        if shot is None or self.view.where != "open":
            return ""
        if not shot.stays:
            return "Engine and twin end with the last screen. What was recorded stays in the logbook."
        if shot.link.simulated:
            return (
                "Engine and twin go on. `tuyere watch` opens this screen again, `tuyere keep --end` ends them; "
                "what was recorded stays in the logbook."
            )
        return (
            "The engine goes on watching and recording, and the board holds the pit. "
            "`tuyere watch` opens this screen again."
        )

    async def leave(self, words: str = "") -> None:
        """Detach and close; `words` are printed in the terminal."""
        self.workers.cancel_group(self, "engine")
        self.exit(words)

    async def action_leave_at_once(self) -> None:
        await self.leave(self.leaving())
