"""Serving by https: a whole server in a process of its own, with a certificate made for the test and thrown away."""

import os
import shutil
import ssl
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest

OPENSSL = shutil.which("openssl")
ROOT = Path(__file__).parent.parent
PATIENCE_S = 20

pytestmark = pytest.mark.skipif(OPENSSL is None, reason="no openssl on this machine to make a certificate with")


@pytest.fixture(scope="module")
def certificate(tmp_path_factory) -> tuple[Path, Path]:
    """A certificate for 127.0.0.1, good for a day, and its key."""
    folder = tmp_path_factory.mktemp("tls")
    cert, key = folder / "cert.pem", folder / "key.pem"
    asked = "req -x509 -newkey rsa:2048 -nodes -days 1 -subj /CN=127.0.0.1 -addext subjectAltName=IP:127.0.0.1"
    subprocess.run([OPENSSL, *asked.split(), "-keyout", key, "-out", cert], check=True, capture_output=True, timeout=PATIENCE_S)
    return cert, key


@pytest.fixture(scope="module")
def address(certificate, tmp_path_factory) -> Iterator[str]:
    """Where a server with this certificate is, as it says itself."""
    cert, key = certificate
    asked = [sys.executable, "-m", "app", "serve", "--port", "0", "--no-browser", "--tls-cert", cert, "--tls-key", key]
    server = subprocess.Popen(
        [*asked, "--data", tmp_path_factory.mktemp("data")], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        env=os.environ | {"PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    try:
        said = server.stdout.readline()
        assert said.startswith("Westering is at https://127.0.0.1:"), said
        yield said.split()[3]
    finally:
        server.terminate()
        server.wait(PATIENCE_S)
        server.stdout.close()


def test_pages_come_by_https_and_ask_to_stay_there(certificate, address):
    with urlopen(address, context=ssl.create_default_context(cafile=certificate[0]), timeout=PATIENCE_S) as answer:
        assert answer.status == 200 and answer.headers["strict-transport-security"] == "max-age=31536000"


def test_a_browser_that_does_not_know_the_certificate_refuses_it(address):
    with pytest.raises(URLError, match="CERTIFICATE_VERIFY_FAILED"):
        urlopen(address, context=ssl.create_default_context(), timeout=PATIENCE_S)


def test_nothing_is_said_by_plain_http(address):
    with pytest.raises((URLError, OSError)):
        urlopen(address.replace("https:", "http:"), timeout=PATIENCE_S)
