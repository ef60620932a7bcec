"""A receiver behind rigctld: the real server with its dummy rig, and servers that misbehave."""

import socket
import socketserver
import subprocess
import threading
import time
from contextlib import closing, contextmanager

import pytest

from antexp.errors import ReadingsError
from antexp.field.rig import RigSource, parse_address
from antexp.field.sources import SourceError


def free_port():
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def dummy_rig(rigctld):
    """Return the address of Hamlib's own server with its dummy rig (model 1)."""
    port = free_port()
    server = subprocess.Popen([str(rigctld), "-m", "1", "-T", "127.0.0.1", "-t", str(port)],
                              stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    deadline = time.monotonic() + 10
    while True:
        try:
            # kept open: the server closes the rig when its last client leaves, and may lose one that comes just then
            first = socket.create_connection(("127.0.0.1", port), timeout=1)
            break
        except OSError:
            assert time.monotonic() < deadline, "rigctld did not start"
            time.sleep(0.05)
    yield f"127.0.0.1:{port}"
    first.close()
    server.terminate()
    server.wait(10)


def patiently(act):
    """Do something again where the server lost the client, as it may when one comes while another leaves."""
    deadline = time.monotonic() + 10
    while True:
        try:
            return act()
        except (ConnectionError, SourceError, ReadingsError):
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)


def ask_by_hand(address, request):
    """Ask the server in the plain form of the protocol, which this package does not use."""
    def ask():
        host, port = address.split(":")
        with socket.create_connection((host, int(port)), timeout=5) as line:
            line.sendall(request.encode())
            return line.recv(1000).decode().strip()

    return patiently(ask)


def level_of(address, scale):
    """Return one level by the package's own way."""
    def read():
        with closing(RigSource(address, scale)) as source:
            return source.read().level_db

    return patiently(read)


def test_the_real_server_gives_what_it_gives_by_hand(dummy_rig):
    ask_by_hand(dummy_rig, "F 14200000\n")
    level = level_of(dummy_rig, "dB")
    # the dummy rig varies its strength: -54 to +60 dB over S9 is what Hamlib allows of STRENGTH
    assert -54 <= level <= 60
    assert -54 <= float(ask_by_hand(dummy_rig, "l STRENGTH\n")) <= 60


@pytest.mark.parametrize(("frequency_hz", "s9_dbm"), [(14_200_000, -73.0), (145_000_000, -93.0)])
def test_on_a_dbm_scale_s9_is_that_of_the_rigs_frequency(dummy_rig, frequency_hz, s9_dbm):
    # IARU Region 1 Technical Recommendation R.1: S9 is -73 dBm below 30 MHz, -93 dBm above 144 MHz
    ask_by_hand(dummy_rig, f"F {frequency_hz}\n")
    level = level_of(dummy_rig, "dBm")
    assert s9_dbm - 54 <= level <= s9_dbm + 60


@contextmanager
def server(answers):
    """Run a server that answers requests from a mapping; what is missing closes the line."""

    class Handler(socketserver.StreamRequestHandler):
        def handle(self):
            for line in self.rfile:
                answer = answers.get(line.decode().strip())
                if answer is None:
                    return
                for part in answer:
                    self.wfile.write(part.encode())
                    self.wfile.flush()
                    time.sleep(0.01)

    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), Handler) as listening:
        thread = threading.Thread(target=listening.serve_forever, daemon=True)
        thread.start()
        yield f"127.0.0.1:{listening.server_address[1]}"
        listening.shutdown()
        thread.join()


FREQUENCY = ["get_freq:\n", "Frequency: 7100000\n", "RPRT 0\n"]


def test_an_answer_in_pieces_is_put_together():
    with server({"+f": FREQUENCY, "+l STRENGTH": ["get_level: STREN", "GTH\n-1", "2\nRPR", "T 0\n"]}) as address:
        source = RigSource(address, "dBm")
        assert source.read().level_db == -85.0  # S9 of -73 dBm less 12 dB: S7
        source.close()


@pytest.mark.parametrize(("answer", "message"), [
    (["get_level: STRENGTH\nRPRT -11\n"], "refuses “l STRENGTH”, code -11"),
    (["get_level: STRENGTH\nRPRT 0\n"], "without a number"),
    (None, "closed the line"),
])
def test_a_rig_that_has_no_meter_or_goes_away_is_said(answer, message):
    with server({"+f": FREQUENCY, "+l STRENGTH": answer}) as address:
        source = RigSource(address, "dBm")
        with pytest.raises(SourceError, match=message):
            source.read()
        source.close()


def test_what_cannot_be_used_is_refused_at_once():
    with pytest.raises(ReadingsError, match="no rigctld server answers"):
        RigSource(f"127.0.0.1:{free_port()}", "dBm")
    with pytest.raises(ReadingsError, match="scale is another"):
        RigSource("127.0.0.1:4532", "attenuator")
    with server({"+f": ["get_freq:\nRPRT -1\n"]}) as address, pytest.raises(ReadingsError, match="say its frequency"):
        RigSource(address, "dBm")


@pytest.mark.parametrize(("text", "parsed"), [("localhost:4532", ("localhost", 4532)), ("[::1]:4532", ("::1", 4532))])
def test_addresses(text, parsed):
    assert parse_address(text) == parsed


@pytest.mark.parametrize("text", ["localhost", "localhost:", ":4532", "localhost:99999", "::1:4532", "a b:1"])
def test_what_is_no_address(text):
    with pytest.raises(ReadingsError, match="HOST:PORT"):
        parse_address(text)
