"""A CUPS server of its own for tests, with queues that write what a printer would get into files.

Needs Debian's cups and cups-filters. Everything it writes lies in one folder.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import attrs

DAEMON = shutil.which("cupsd", path=f"{os.environ.get('PATH', '')}:/usr/sbin")
PATIENCE_S = 30.0

FILES = """FileDevice Yes
ServerRoot {root}/etc
StateDir {root}/state
CacheDir {root}/cache
RequestRoot {root}/spool
TempDir {root}/spool/tmp
AccessLog {root}/log/access
ErrorLog {root}/log/error
PageLog {root}/log/page
SystemGroup root
"""

DAEMON_CONFIGURATION = """Listen 127.0.0.1:{port}
LogLevel info
Browsing No
DefaultAuthType None
WebInterface No
<Location />
  Order allow,deny
  Allow all
</Location>
<Policy default>
  <Limit All>
    Order allow,deny
    Allow all
  </Limit>
</Policy>
"""

DESCRIPTION = """*PPD-Adobe: "4.3"
*FormatVersion: "4.3"
*FileVersion: "1.0"
*LanguageVersion: English
*LanguageEncoding: ISOLatin1
*PCFileName: "LABEL.PPD"
*Product: "(Label)"
*Manufacturer: "Generic"
*ModelName: "Generic label"
*ShortNickName: "Generic label"
*NickName: "Generic label"
*PSVersion: "(3010.000) 0"
*LanguageLevel: "3"
*ColorDevice: False
*DefaultColorSpace: Gray
*FileSystem: False
*Throughput: "1"
*LandscapeOrientation: Plus90
*TTRasterizer: Type42
{filter}
*OpenUI *PageSize/Media: PickOne
*OrderDependency: 10 AnySetup *PageSize
*DefaultPageSize: A4
*PageSize A4/A4: "<</PageSize[595 842]>>setpagedevice"
*PageSize Letter/Letter: "<</PageSize[612 792]>>setpagedevice"
*CloseUI: *PageSize
*OpenUI *PageRegion/Media: PickOne
*OrderDependency: 10 AnySetup *PageRegion
*DefaultPageRegion: A4
*PageRegion A4/A4: "<</PageSize[595 842]>>setpagedevice"
*PageRegion Letter/Letter: "<</PageSize[612 792]>>setpagedevice"
*CloseUI: *PageRegion
*DefaultImageableArea: A4
*ImageableArea A4/A4: "0 0 595 842"
*ImageableArea Letter/Letter: "0 0 612 792"
*DefaultPaperDimension: A4
*PaperDimension A4/A4: "595 842"
*PaperDimension Letter/Letter: "612 792"
*VariablePaperSize: True
*MaxMediaWidth: "1000"
*MaxMediaHeight: "3000"
*HWMargins: 0 0 0 0
*NonUIOrderDependency: 10 AnySetup *CustomPageSize
*CustomPageSize True: "pop pop pop <</PageSize[5 -2 roll]>>setpagedevice"
*ParamCustomPageSize Width: 1 points 5 1000
*ParamCustomPageSize Height: 2 points 5 3000
*ParamCustomPageSize WidthOffset: 3 points 0 0
*ParamCustomPageSize HeightOffset: 4 points 0 0
*ParamCustomPageSize Orientation: 5 int 0 3
*OpenUI *Resolution/Resolution: PickOne
*OrderDependency: 10 AnySetup *Resolution
*DefaultResolution: 180dpi
*Resolution 180dpi/180: "<</HWResolution[180 180]>>setpagedevice"
*Resolution 300dpi/300: "<</HWResolution[300 300]>>setpagedevice"
*Resolution 600dpi/600: "<</HWResolution[600 600]>>setpagedevice"
*CloseUI: *Resolution
*DefaultFont: Courier
"""

FILTERS = {
    "pdf": '*cupsFilter2: "application/vnd.cups-pdf application/pdf 0 -"',
    "raster": '*cupsFilter: "application/vnd.cups-raster 0 -"',
}
"""What the printer of a queue understands: pages as PDF, or the dots themselves."""


@attrs.frozen(kw_only=True)
class Server:
    """A running server with a queue for each of FILTERS."""

    root: Path
    port: int

    def run(self, command: Sequence[str]) -> str:
        """What a command says that finds its server in the environment."""
        environment = os.environ | {"CUPS_SERVER": f"127.0.0.1:{self.port}"}
        done = subprocess.run(
            command, env=environment, capture_output=True, text=True, check=True, timeout=PATIENCE_S
        )
        return done.stdout

    def printed(self, queue: str) -> bytes:
        """What the printer got, once all jobs are done."""
        end = time.monotonic() + PATIENCE_S
        while self.run(["lpstat", "-o", queue]):
            if time.monotonic() > end:
                raise TimeoutError((self.root / "log/error").read_text()[-3000:])
            time.sleep(0.1)
        return (self.root / "out" / queue).read_bytes()


@contextmanager
def serving(root: Path) -> Iterator[Server]:
    """A server in an empty folder, stopped at the end."""
    assert DAEMON is not None
    for name in ("etc/ppd", "state", "cache", "spool/tmp", "log", "out"):
        (root / name).mkdir(parents=True)
    for folder in (root, *(path for path in root.rglob("*") if path.is_dir())):
        folder.chmod(0o777)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    (root / "cups-files.conf").write_text(FILES.format(root=root))
    (root / "cupsd.conf").write_text(DAEMON_CONFIGURATION.format(port=port))
    daemon = subprocess.Popen(
        [DAEMON, "-f", "-c", str(root / "cupsd.conf"), "-s", str(root / "cups-files.conf")],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    server = Server(root=root, port=port)
    try:
        end = time.monotonic() + PATIENCE_S
        while "is running" not in server.run(["lpstat", "-r"]):
            if time.monotonic() > end or daemon.poll() is not None:
                raise TimeoutError("cupsd does not answer")
            time.sleep(0.1)
        for queue, filter_ in FILTERS.items():
            description = root / f"{queue}.ppd"
            description.write_text(DESCRIPTION.format(filter=filter_))
            device = f"file:{root}/out/{queue}"
            server.run(["lpadmin", "-p", queue, "-E", "-v", device, "-P", str(description)])
        yield server
    finally:
        daemon.terminate()
        daemon.wait(PATIENCE_S)
