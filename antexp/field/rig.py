"""Signal strength from a receiver behind a rigctld server (Hamlib's network protocol, plain text over TCP).

The extended form of a request (a leading ``+``) is answered by lines that end in ``RPRT`` and a code, 0 for success,
so that an answer is never taken for another's. ``STRENGTH`` is in dB relative to S9.

References
----------
Hamlib, rigctld(1) manual page, sections "Protocol" and "Extended Response Protocol".
"""

from __future__ import annotations

import re
import socket
from statistics import median

from antexp.decibels import nearest_s9_dbm
from antexp.errors import Fault, ReadingsError
from antexp.field.sources import SourceError, SourceLevel

SAMPLES = 5
TIMEOUT_S = 5.0
_LONGEST_ANSWER = 65_536
_ADDRESS = re.compile(r"(?:\[([^\]]+)\]|([^:\[\]\s]+)):([0-9]{1,5})")


def parse_address(text: str) -> tuple[str, int]:
    """Return host and port of ``HOST:PORT``, ``[IPv6]:PORT``.

    Raises
    ------
    ReadingsError
        When it is something else.
    """
    found = _ADDRESS.fullmatch(text.strip())
    if not found or not 0 < int(found[3]) < 65_536:
        raise ReadingsError(Fault("this is not the address of a rigctld server", "--from rig", text, "HOST:PORT",
                                  "rigctld usually listens at localhost:4532."))
    return found[1] or found[2], int(found[3])


class RigSource:
    """A receiver whose signal strength is asked over the network.

    Parameters
    ----------
    address : str
        ``HOST:PORT``.
    scale : str
        The plan's: on ``"dBm"`` the level is S9 at the rig's frequency plus what the rig reports (IARU Region 1 R.1:
        −73 dBm up to 30 MHz, −93 above); on ``"dB"`` what the rig reports, dB over S9.

    Raises
    ------
    ReadingsError
        When the address is no address, nothing answers there, or the scale is not one a rig can report on.
    """

    def __init__(self, address: str, scale: str) -> None:
        if scale not in ("dBm", "dB"):
            raise ReadingsError(Fault("a rig reports decibels, and the plan's scale is another",
                                      "plan, key meter.scale", scale, "dBm, dB",
                                      "Put one of these there, or type the readings."))
        host, port = parse_address(address)
        self.name = f"rig at {address}"
        try:
            self._socket = socket.create_connection((host, port), timeout=TIMEOUT_S)
        except OSError as error:
            raise ReadingsError(Fault("no rigctld server answers", f"--from rig {address}",
                                      error.strerror or str(error), "", "Start rigctld first, or check host and port."
                                      )) from None
        try:
            self._s9_dbm = self._s9() if scale == "dBm" else 0.0
        except SourceError as error:
            self.close()
            raise ReadingsError(Fault("the rig does not say its frequency, which the level of S9 depends on",
                                      f"--from rig {address}", str(error))) from None

    def read(self) -> SourceLevel:
        """Return the median of five strengths asked one after another."""
        strengths = [float(self._ask("l STRENGTH")) for _ in range(SAMPLES)]
        return SourceLevel(round(self._s9_dbm + median(strengths), 3))

    def close(self) -> None:
        """Close the connection; the rig is left as it is."""
        self._socket.close()

    def _s9(self) -> float:
        """Return the level of S9 at the rig's frequency, dBm."""
        return nearest_s9_dbm(float(self._ask("f")) / 1e6)

    def _ask(self, request: str) -> str:
        """Send a request and return the value in its answer."""
        try:
            self._socket.sendall(f"+{request}\n".encode("ascii"))
            answer = b""
            while not re.search(rb"RPRT -?[0-9]+\n", answer):
                more = self._socket.recv(4096)
                if not more or len(answer) > _LONGEST_ANSWER:
                    raise SourceError(f"{self.name} closed the line.")
                answer += more
        except OSError as error:
            raise SourceError(f"{self.name} does not answer: {error.strerror or error}.") from None
        return _value(answer.decode("ascii", "replace"), request, self.name)


def _value(answer: str, request: str, name: str) -> str:
    """Return the number in an answer of the extended protocol."""
    code = re.search(r"RPRT (-?[0-9]+)", answer)
    if code is None or code[1] != "0":
        raise SourceError(f"{name} refuses “{request}”, code {code[1] if code else '?'}: it may have no such meter.")
    for line in answer.splitlines()[1:]:
        found = re.fullmatch(r"(?:[A-Za-z ]+: *)?(-?[0-9]+(?:\.[0-9]+)?)", line.strip())
        if found:
            return found[1]
    raise SourceError(f"{name} answered “{request}” without a number.")
