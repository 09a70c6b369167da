"""`tuyere web`: a page for phones and other computers, and who may see it."""

from __future__ import annotations

import contextlib
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tuyere.cli.options import Within

if TYPE_CHECKING:
    from tuyere.web.devices import Devices

PORT = 8424
PLAIN_HTTP = (
    "Without TLS anybody who can listen in this network can read along, and take a device's token. Give --cert and "
    "--key, or serve it through your own proxy (--behind), where that matters."
)


@click.group(invoke_without_command=True)
@click.option(
    "--address",
    default="",
    help='The address to serve at: one of this computer, or "home" for that of its home network. '
    "Default: 127.0.0.1, this computer alone.",
)
@click.option(
    "--port", type=Within(1, 65535, "a port", whole=True), default=PORT, show_default=True, help="The port to serve at."
)
@click.option("--name", "names", multiple=True, help="Another name of this computer by which a browser may ask for it.")
@click.option("--cert", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="TLS: a certificate (PEM).")
@click.option("--key", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="TLS: its key (PEM).")
@click.option("--behind", default="", help="The address of your own proxy, such as https://pit.example.org.")
@click.pass_context
def web(
    ctx: click.Context,
    address: str,
    port: int,
    names: tuple[str, ...],
    cert: Path | None,
    key: Path | None,
    behind: str,
) -> None:
    """Serve a page that shows the cook on a phone or another computer.

    It is a process of its own beside the engine: a fault in it touches no cook. It needs an engine (`tuyere watch`,
    `tuyere keep`), starts none, and finds it again when it goes. A device is let in once, by a code that is shown here.
    """
    if ctx.invoked_subcommand is not None:
        return
    if bool(cert) != bool(key):
        raise click.UsageError("TLS needs both: --cert and --key")
    if behind and (address or cert):
        raise click.UsageError("behind a proxy the page stays on this computer: leave --address, --cert and --key out")
    import asyncio

    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(_serve(address, port, names, cert, key, behind))


async def _serve(
    address: str, port: int, names: tuple[str, ...], cert: Path | None, key: Path | None, behind: str
) -> None:  # fmt: skip
    import asyncio
    import signal

    from tuyere import paths
    from tuyere.client.client import Client
    from tuyere.web import reach
    from tuyere.web.devices import Devices
    from tuyere.web.hub import Hub
    from tuyere.web.report_of import report
    from tuyere.web.serve import CONNECTIONS, CONNECTIONS_EACH, Serving, listen
    from tuyere.web.site import Site

    home = paths.home()
    try:
        place = reach.place(address, port, names, tls=cert is not None, behind=behind)
        sock = listen(place.address, port)
    except ValueError as error:
        raise click.ClickException(str(error)) from None
    except OSError as error:
        raise click.ClickException(
            f"the page cannot be served at {address or '127.0.0.1'} port {port} ({error.strerror or error}): "
            "give another --port, or an --address of this computer"
        ) from None
    devices = Devices(home)
    devices.served_at(place.url)

    async def connect() -> Any:
        return await Client.open(home)

    site = Site(Hub(connect), devices, report(home), home=home, hosts=place.hosts, scheme=place.scheme)
    try:
        each = CONNECTIONS if behind else CONNECTIONS_EACH  # a proxy is one address
        serving = Serving(site, sock, cert=cert, key=key, each=each)
    except OSError as error:  # ssl.SSLError is one
        raise click.ClickException(
            f"the certificate {cert} and its key do not fit ({error}): give a pair in PEM"
        ) from None  # fmt: skip
    click.echo(f"the page is at {place.url}; Ctrl-C ends it, and the cook goes on", err=True)
    if not place.alone and place.scheme == "http":
        click.echo(PLAIN_HTTP, err=True)
    if not devices.all():
        _show(devices, look=False)
    else:
        click.echo("`tuyere web pair` lets another device in, `tuyere web devices` lists them", err=True)
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        try:
            loop.add_signal_handler(number, serving.stop)
        except NotImplementedError:  # Windows
            signal.signal(number, lambda *_: loop.call_soon_threadsafe(serving.stop))
    await serving.run()


def _show(devices: Devices, look: bool) -> None:
    """A code, and where to take it: as an address, and as a QR code for a phone."""
    from tuyere.web import reach

    code, base = devices.offer(look), devices.address
    link = f"{base}/pair#{code.replace('-', '')}"
    click.echo(f"open this once within 10 min to let a device in{' that may only look' if look else ''}:\n  {link}")
    click.echo(f"or open {base} and type {code}")
    if not reach.alone(base) and "utf" in (sys.stdout.encoding or "").lower():
        import segno

        segno.make(link, error="m", micro=False).terminal(compact=True)


@web.command()
@click.option("--look", is_flag=True, help="The device may look, and do nothing.")
def pair(look: bool) -> None:
    """Show a code that lets one more device in. It works once, for ten minutes."""
    from tuyere import paths
    from tuyere.web.devices import Devices

    devices = Devices(paths.home())
    if not devices.address:
        raise click.ClickException("the page has not been served yet: run `tuyere web` first")
    _show(devices, look)


@web.command()
@click.option("--withdraw", type=Within(1, 2**31, "the number of a device", whole=True), help="Shut a device out.")
@click.option("--json", "as_json", is_flag=True, help="A JSON list; times UTC in ms.")
def devices(withdraw: int | None, as_json: bool) -> None:
    """List the paired devices, or shut one out."""
    from tuyere import paths
    from tuyere.cli.book import local_time, print_json
    from tuyere.web.devices import Devices

    known = Devices(paths.home())
    if withdraw is not None:
        gone = known.withdraw(withdraw)
        if gone is None:
            raise click.ClickException(f"there is no device {withdraw}: `tuyere web devices` lists them")
        click.echo(f"withdrawn: {gone.id}, {gone.name}", err=True)
    found = known.all()
    if as_json:
        print_json([{"id": d.id, "name": d.name, "look": d.look, "paired": d.paired, "seen": d.seen} for d in found])
        return
    if not found:
        click.echo("no device is paired; `tuyere web pair` lets one in", err=True)
        return
    click.echo(f"{'no':>3}  {'paired':16}  {'seen':16}  {'may':4}  name")
    for d in found:
        click.echo(
            f"{d.id:>3}  {local_time(d.paired)}  {local_time(d.seen)}  {'look' if d.look else 'do':4}  {d.name}"
        )  # fmt: skip
