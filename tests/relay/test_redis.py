"""A real Redis: what each of the two users can do there, and whom a connection trusts."""

from __future__ import annotations

import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import gevent
import msgspec
import pytest
import redis as client
from redis.exceptions import AuthenticationError, NoPermissionError, RedisError, ResponseError

from exhibit.relay.messages import DRAWN, LAST_WHOLE, STREAM
from exhibit.relay.redis_connection import FAULTS, Redis, connected
from tests.relay.redis_here import ADMIN, RedisHere, make_certificates

OWN = (STREAM, LAST_WHOLE, DRAWN)
TAKEN_FROM_ANYBODY = {"auth", "hello", "quit", "reset"}
"""What Redis takes from whoever connects: to sign in, and to leave."""
READS = [
    ("GET", LAST_WHOLE),
    ("GET", DRAWN),
    ("XREAD", "STREAMS", STREAM, "0"),
    ("XREAD", "BLOCK", "1", "STREAMS", STREAM, "0"),
]
WRITES = [
    ("XADD", STREAM, "*", "answer", "x"),
    ("XADD", STREAM, "NOMKSTREAM", "MAXLEN", "~", "9", "*", "answer", "x"),
    ("SET", LAST_WHOLE, "x"),
    ("SET", DRAWN, "x"),
]
NEVER = [
    ("GET", "another"),
    ("SET", "another", "x"),
    ("SET", LAST_WHOLE, "x", "GET"),
    ("XADD", "another", "*", "a", "b"),
    ("XREAD", "STREAMS", STREAM, "another", "0", "0"),
    ("XRANGE", STREAM, "-", "+"),
    ("XDEL", STREAM, "1-1"),
    ("XTRIM", STREAM, "MAXLEN", "0"),
    ("XREADGROUP", "GROUP", "a", "b", "STREAMS", STREAM, ">"),
    ("XGROUP", "CREATE", STREAM, "a", "0"),
    ("DEL", LAST_WHOLE),
    ("EXPIRE", LAST_WHOLE, "1"),
    ("RENAME", LAST_WHOLE, "another"),
    ("COPY", LAST_WHOLE, "another"),
    ("KEYS", "*"),
    ("SCAN", "0"),
    ("FLUSHALL",),
    ("FLUSHDB",),
    ("SWAPDB", "0", "1"),
    ("EVAL", "return 1", "0"),
    ("FUNCTION", "LIST"),
    ("SCRIPT", "LOAD", "return 1"),
    ("CONFIG", "GET", "*"),
    ("ACL", "LIST"),
    ("CLIENT", "LIST"),
    ("CLIENT", "KILL", "TYPE", "normal"),
    ("MONITOR",),
    ("SUBSCRIBE", "a"),
    ("PUBLISH", "a", "b"),
    ("SHUTDOWN",),
    ("DEBUG", "SLEEP", "1"),
    ("MODULE", "LIST"),
    ("REPLICAOF", "NO", "ONE"),
    ("SAVE",),
    ("INFO",),
    ("SELECT", "1"),
    ("PING",),
]


@contextmanager
def administrator(redis: RedisHere) -> Iterator[client.Redis]:
    one = client.Redis(
        host="localhost",
        port=redis.port,
        username="admin",
        password=ADMIN,
        ssl=True,
        ssl_ca_certs=f"{redis.ca}",
        decode_responses=True,
    )
    try:
        yield one
    finally:
        one.close()


def may(admin: client.Redis, user: str, *command: str) -> bool:
    return admin.execute_command("ACL", "DRYRUN", user, *command) == "OK"


def test_each_user_may_do_what_it_has_to_and_nothing_else(redis: RedisHere) -> None:
    with administrator(redis) as admin:
        for user, wanted, not_its_own in (("page", READS, WRITES), ("relay", WRITES, READS)):
            assert [one for one in wanted if not may(admin, user, *one)] == []
            assert [one for one in (*not_its_own, *NEVER) if may(admin, user, *one)] == []


def test_of_all_the_commands_that_redis_knows_each_user_has_two(redis: RedisHere) -> None:
    with administrator(redis) as admin:
        known = {name.lower(): abs(about["arity"]) for name, about in admin.command().items()}
        assert len(known) > 200
        for user, wanted in (("page", {"xread", "get"}), ("relay", {"xadd", "set"})):
            rules = admin.acl_getuser(user)
            assert rules["categories"] == ["-@all"]
            assert {command.lstrip("+") for command in rules["commands"]} == wanted
            allowed = set()
            for name, length in known.items():
                try:
                    reply = admin.execute_command("ACL", "DRYRUN", user, name, *["x"] * (length - 1))
                except ResponseError as error:
                    # Such as CONFIG, which is several; the rules above would name one that is allowed.
                    assert "not found" in f"{error}"  # noqa: PT017
                    continue
                if f"has no permissions to run the '{name}' command" not in f"{reply}":
                    allowed.add(name)
            assert allowed - TAKEN_FROM_ANYBODY == wanted


def test_who_gives_no_name_gets_nothing(redis: RedisHere) -> None:
    one = client.Redis(host="localhost", port=redis.port, ssl=True, ssl_ca_certs=f"{redis.ca}")
    try:
        with pytest.raises((AuthenticationError, NoPermissionError)):
            one.get(LAST_WHOLE)
    finally:
        one.close()


def test_the_relay_writes_and_a_page_reads_what_it_wrote(redis: RedisHere) -> None:
    with connected(redis.access("relay")) as relay, connected(redis.access("page")) as page:
        assert relay.append(STREAM, b"too early", 9, make=False) is None
        place = relay.append(STREAM, b"an answer", 9, make=True)
        relay.set(LAST_WHOLE, b"all of it")
        assert page.get(LAST_WHOLE) == b"all of it"
        assert page.get(DRAWN) is None
        assert page.read(STREAM, "0", 9, 0) == [(place, b"an answer")]
        assert page.read(STREAM, f"{place}", 9, 10) == []
        for command in (lambda: page.set(LAST_WHOLE, b"x"), lambda: page.append(STREAM, b"x", 9, make=True)):
            with pytest.raises(NoPermissionError):
                command()
        for command in (lambda: relay.get(LAST_WHOLE), lambda: relay.read(STREAM, "0", 9, 0)):
            with pytest.raises(NoPermissionError):
                command()


def test_while_one_greenlet_waits_for_redis_the_others_go_on(redis: RedisHere) -> None:
    """Python's own TLS socket in the place of gevent's would stop every page for as long as this waits."""
    done: list[float] = []

    def others() -> None:
        while True:
            gevent.sleep(0.005)
            done.append(1)

    greenlet = gevent.spawn(others)
    with connected(redis.access("page")) as page:
        done.clear()
        page.read(STREAM, "0", 9, 400)
    gevent.kill(greenlet)
    assert len(done) >= 5


def refused(redis: RedisHere, **changed: object) -> BaseException:
    access = msgspec.structs.replace(redis.access("page"), **changed)
    with pytest.raises(FAULTS) as refusal, connected(access):
        pass
    return refusal.value


def test_a_certificate_of_another_authority_is_not_trusted(redis: RedisHere, tmp_path: Path) -> None:
    make_certificates(tmp_path)
    assert "CERTIFICATE_VERIFY_FAILED" in f"{refused(redis, ca=f'{tmp_path}/ca.crt')}"
    assert "CERTIFICATE_VERIFY_FAILED" in f"{refused(redis, ca=None)}"


def test_a_certificate_for_another_name_is_not_trusted(redis: RedisHere) -> None:
    assert "127.0.0.1" in f"{refused(redis, host='127.0.0.1')}"


def test_a_wrong_password_is_refused_and_said_nowhere(redis: RedisHere) -> None:
    refusal = refused(redis, password="not the word")
    assert isinstance(refusal, RedisError)
    assert "not the word" not in f"{refusal}"
    assert "not the word" not in repr(msgspec.structs.replace(redis.access("page"), password="not the word"))


def test_redis_takes_no_connection_without_tls(redis: RedisHere) -> None:
    one = client.Redis(host="localhost", port=redis.port, username="page", password="words for the page")
    try:
        with pytest.raises(RedisError):
            one.ping()
    finally:
        one.close()
    with pytest.raises(ssl.SSLError, match="certificate"):
        ssl.get_server_certificate(("localhost", redis.port), ca_certs="/dev/null")


def test_a_connection_is_closed_at_its_end(redis: RedisHere) -> None:
    with connected(redis.access("page")) as page:
        assert isinstance(page, Redis)
        connection = page._connection
    assert not connection.is_connected
