"""Textual's reader of the terminal's keys, made safe against any byte."""

from __future__ import annotations

import codecs
import functools
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.driver import Driver


def driver() -> type[Driver] | None:
    """The driver for this system, None for Textual's own choice.

    Textual decodes what is typed strictly: one byte that is no UTF-8 (a paste in another encoding, noise on a serial
    console) ends its input thread, and with it the screen. Here such bytes are dropped.
    """
    from textual import constants

    if sys.platform == "win32" or constants.DRIVER is not None:  # there keys come as characters; a chosen one stays
        return None
    from textual.drivers import linux_driver

    def lenient(encoding: str) -> functools.partial[codecs.IncrementalDecoder]:
        return functools.partial(codecs.getincrementaldecoder(encoding), errors="ignore")

    linux_driver.getincrementaldecoder = lenient  # type: ignore[assignment]
    return linux_driver.LinuxDriver
