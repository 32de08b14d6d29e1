import os
import ssl
import stat
import subprocess
from pathlib import Path

import pytest

from support.broker import needed

BROKER = Path(__file__).parents[2] / "systemd/broker"
SCRIPT = BROKER / "certificates.sh"


def script(*arguments, **environ):
    return subprocess.run(
        ["sh", SCRIPT, *arguments],
        check=False,
        capture_output=True,
        text=True,
        env={**os.environ, **environ},
    )


@pytest.fixture
def folder(tmp_path):
    needed("openssl")
    folder = tmp_path / "made"
    for arguments in (["authority"], ["server", "lab.example", "192.0.2.7"], ["client", "press-1"]):
        done = script(folder, *arguments)
        assert (done.returncode, done.stderr) == (0, "")
    return folder


def shaken(folder, host):
    """A handshake in memory, by the strict rules of RFC 5280; what each side saw of the other."""
    server = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH, cafile=folder / "authority.crt")
    server.load_cert_chain(folder / "server.crt", folder / "server.key")
    server.verify_mode = ssl.CERT_REQUIRED
    client = ssl.create_default_context(cafile=folder / "authority.crt")
    client.load_cert_chain(folder / "press-1.crt", folder / "press-1.key")
    server.verify_flags |= ssl.VERIFY_X509_STRICT
    client.verify_flags |= ssl.VERIFY_X509_STRICT
    up, down = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = (
        client.wrap_bio(down, up, server_hostname=host),
        server.wrap_bio(up, down, server_side=True),
    )
    waiting = list(ends)
    while waiting:
        for end in list(waiting):
            try:
                end.do_handshake()
                waiting.remove(end)
            except ssl.SSLWantReadError:
                pass
    return [end.getpeercert() for end in ends]


@pytest.mark.parametrize("host", ["lab.example", "192.0.2.7"])
def test_bench_and_server_believe_each_other_by_the_strict_rules(folder, host):
    server, bench = shaken(folder, host)
    assert ("DNS", "lab.example") in server["subjectAltName"]
    assert bench["subject"] == ((("commonName", "press-1"),),)


def test_a_certificate_lasts_five_years_and_the_authority_twenty(folder):
    server, _ = shaken(folder, "lab.example")
    begin, end = (ssl.cert_time_to_seconds(server[name]) for name in ("notBefore", "notAfter"))
    assert (end - begin) / 86400 == 5 * 365
    text = subprocess.run(
        ["openssl", "x509", "-noout", "-dates", "-in", folder / "authority.crt"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    dates = dict(line.split("=") for line in text.splitlines())
    begin, end = (ssl.cert_time_to_seconds(dates[name]) for name in ("notBefore", "notAfter"))
    assert (end - begin) / 86400 == 20 * 365


def test_only_the_owner_can_read_a_key(folder):
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}
    assert modes == {
        f"{name}.{kind}": mode
        for name in ("authority", "server", "press-1")
        for kind, mode in (("crt", 0o644), ("key", 0o600))
    } | {"revoked.crl": 0o644, "revoked.index": 0o600}


def test_no_certificate_is_replaced(folder):
    before = (folder / "press-1.crt").read_bytes()
    done = script(folder, "client", "press-1")
    assert done.returncode == 2
    assert done.stderr == (
        "certificates.sh: press-1.crt is there already: move it away to make another\n"
    )
    assert (folder / "press-1.crt").read_bytes() == before


def test_what_openssl_refuses_leaves_nothing(folder):
    done = script(folder, "client", "press-2", DAYS="-3")
    assert done.returncode == 2
    assert "-3" in done.stderr
    assert not list(folder.glob("press-2*"))
    assert not (folder / "openssl.log").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], "expected FOLDER and authority, server HOST..., client NAME or revoke NAME"),
        (["clients", "a"], "expected authority, server, client or revoke, not 'clients'"),
        (["server"], "expected the names and addresses of the server"),
        (["client"], "expected one name"),
        (["client", "press/1"], "expected a name of letters, digits, '.', '_' and '-', "),
        (["client", "authority"], "expected a name of letters, digits, '.', '_' and '-', "),
        (["client", "press-1"], "expected {}/authority.key: make the authority first"),
        (["revoke", "press-1"], "expected the name of a client with a certificate in {}"),
    ],
)
def test_what_it_can_not_do_is_told_in_one_line(tmp_path, arguments, told):
    done = script(*([tmp_path] if arguments else []), *arguments)
    assert done.returncode == 2
    assert done.stderr.startswith("certificates.sh: " + told.format(tmp_path))
    assert done.stderr.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_every_file_that_the_configuration_names_is_put_in_place_by_the_steps():
    steps = (BROKER / "README.md").read_text()
    for line in (BROKER / "ramphold.conf").read_text().splitlines():
        setting, _, value = line.partition(" ")
        if setting in {"cafile", "certfile", "keyfile", "crlfile", "acl_file"}:
            assert Path(value).name in steps, line
