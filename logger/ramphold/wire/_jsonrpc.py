"""JSON-RPC 2.0, one message a line. The transport limits the length of a line."""

from typing import Any, Literal

import msgspec
from msgspec import UNSET, Raw, Struct, UnsetType

from ramphold.errors import WireError
from ramphold.undecodable import UNDECODABLE

PARSE_ERROR = -32700
INVALID_REQUEST = -32600
METHOD_NOT_FOUND = -32601
INVALID_PARAMS = -32602
INTERNAL_ERROR = -32603
#: Our own code, from the range reserved for servers: the request was declined.
REFUSED = -32000

# A line has room for thousands of bare numbers, each of which would get an error reply.
_MAX_BATCH = 100

_encode = msgspec.json.Encoder().encode

Id = str | int | float | None


class Request(Struct, frozen=True):
    """A call. Without an id it is a notification, which gets no reply."""

    method: str
    params: dict[str, Any] | list[Any]
    id: Id | UnsetType = UNSET

    @property
    def wants_reply(self) -> bool:
        """Whether it has an id."""
        return self.id is not UNSET


class Fault(Struct, frozen=True):
    """An error reply: its code, one sentence, and the id it answers."""

    code: int
    message: str
    id: Id = None


class RequestLine(Struct, frozen=True):
    """The content of a line: requests, and a fault for each item that is no request."""

    parts: tuple[Request | Fault, ...]
    batch: bool = False


class _ErrorBody(Struct, frozen=True):
    code: int
    message: str


class Reply(Struct, frozen=True):
    """The reply to a request: a result, still encoded, or a fault."""

    id: Id
    result: Raw | Fault


class Notification(Struct, frozen=True):
    """A message that a server sends unasked; the parameters are still encoded."""

    method: str
    params: Raw


# --- the server's side -------------------------------------------------------------------------


def parse_requests(line: bytes) -> RequestLine:
    """Parse a line. Errors become faults; this never raises."""
    try:
        body = msgspec.json.decode(line)
    except UNDECODABLE:
        return RequestLine((Fault(PARSE_ERROR, "this line is not JSON"),))
    if not isinstance(body, list):
        return RequestLine((_request(body),))
    if not body:
        return RequestLine((Fault(INVALID_REQUEST, "a batch must hold at least one request"),))
    if len(body) > _MAX_BATCH:
        text = f"a batch may hold {_MAX_BATCH} requests, this one has {len(body)}"
        return RequestLine((Fault(INVALID_REQUEST, text),))
    return RequestLine(tuple(_request(part) for part in body), batch=True)


def _request(body: object) -> Request | Fault:
    if not isinstance(body, dict):
        return Fault(INVALID_REQUEST, "a request must be an object")
    given = body.get("id", UNSET)
    if isinstance(given, bool | dict | list):
        return Fault(INVALID_REQUEST, "`id` must be a string, a number or null")
    answers = None if given is UNSET else given
    if body.get("jsonrpc") != "2.0":
        return Fault(INVALID_REQUEST, '`jsonrpc` must be "2.0"', answers)
    method, params = body.get("method"), body.get("params", {})
    if not isinstance(method, str):
        return Fault(INVALID_REQUEST, "`method` must be a string", answers)
    if not isinstance(params, dict | list):
        return Fault(INVALID_REQUEST, "`params` must be an object or an array", answers)
    return Request(method, params, given)


def result_line(request_id: Id, result: object) -> bytes:
    """Encode a result."""
    return _line({"jsonrpc": "2.0", "id": request_id, "result": result})


def fault_line(fault: Fault) -> bytes:
    """Encode an error reply."""
    # A file name in the message may contain bytes that are not text.
    message = fault.message.encode(errors="backslashreplace").decode()
    error = {"code": fault.code, "message": message}
    return _line({"jsonrpc": "2.0", "id": fault.id, "error": error})


def join_replies(lines: list[bytes], *, batch: bool) -> bytes:
    """Join the replies to one line; empty if it held only notifications."""
    if not batch:
        return b"".join(lines)
    return b"[" + b",".join(line.rstrip(b"\n") for line in lines) + b"]\n" if lines else b""


def notification_line(method: str, params: object) -> bytes:
    """Encode a notification."""
    return _line({"jsonrpc": "2.0", "method": method, "params": params})


# --- the client's side -------------------------------------------------------------------------


class _Incoming(Struct, frozen=True):
    jsonrpc: Literal["2.0"]
    id: Id | UnsetType = UNSET
    method: str | UnsetType = UNSET
    params: Raw = Raw(b"{}")
    result: Raw = Raw(b"")
    error: _ErrorBody | UnsetType = UNSET


_incoming = msgspec.json.Decoder(_Incoming)


def request_line(request_id: int, method: str, params: object) -> bytes:
    """Encode a request."""
    return _line({"jsonrpc": "2.0", "id": request_id, "method": method, "params": params})


def parse_incoming(line: bytes) -> Reply | Notification:
    """Parse a line from a server.

    Raises:
        WireError: it is neither a reply nor a notification.
    """
    try:
        body = _incoming.decode(line)
    except UNDECODABLE as error:
        raise WireError(f"not a JSON-RPC reply or notification: {error}") from None
    if body.method is not UNSET and body.id is UNSET:
        return Notification(body.method, body.params)
    if body.method is UNSET and body.id is not UNSET:
        if body.error is not UNSET and not bytes(body.result):
            return Reply(body.id, Fault(body.error.code, body.error.message, body.id))
        if body.error is UNSET and bytes(body.result):
            return Reply(body.id, body.result)
    raise WireError("not a JSON-RPC reply or notification: its members do not fit together")


def _line(body: dict[str, object]) -> bytes:
    return _encode(body) + b"\n"
