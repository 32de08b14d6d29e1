"""Every example of the JSON-RPC 2.0 specification (section 7), and anything else on a line."""

import json

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import WireError
from ramphold.wire import jsonrpc

NO_NUMBER = st.none() | st.booleans() | st.text() | st.floats(allow_nan=False)
JSON = st.recursive(
    NO_NUMBER | st.integers(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


def answered(line):
    """The reply that a server with one method, `subtract`, gives to a line."""
    message = jsonrpc.parse_requests(line)
    replies = []
    for part in message.parts:
        if isinstance(part, jsonrpc.Fault):
            replies.append(jsonrpc.fault_line(part))
        elif part.wants_reply:
            if part.method in {"subtract", "sum", "get_data"}:
                replies.append(jsonrpc.result_line(part.id, part.params))
            else:
                fault = jsonrpc.Fault(jsonrpc.METHOD_NOT_FOUND, "no such method", part.id)
                replies.append(jsonrpc.fault_line(fault))
    reply = jsonrpc.join_replies(replies, batch=message.batch)
    assert reply == b"" or reply.endswith(b"\n")
    assert reply.count(b"\n") <= 1
    return json.loads(reply) if reply else None


def codes(reply):
    return [(one.get("error", {}).get("code"), one["id"]) for one in reply]


# --- the specification's examples --------------------------------------------------------------


def test_a_call_by_position_and_one_by_name_are_requests():
    by_position = jsonrpc.parse_requests(
        b'{"jsonrpc": "2.0", "method": "subtract", "params": [42, 23], "id": 1}'
    )
    assert by_position.parts == (jsonrpc.Request("subtract", [42, 23], 1),)
    by_name = jsonrpc.parse_requests(
        b'{"jsonrpc": "2.0", "method": "subtract", '
        b'"params": {"subtrahend": 23, "minuend": 42}, "id": 3}'
    )
    assert by_name.parts == (jsonrpc.Request("subtract", {"subtrahend": 23, "minuend": 42}, 3),)


def test_a_notification_gets_no_reply():
    assert answered(b'{"jsonrpc": "2.0", "method": "update", "params": [1,2,3,4,5]}') is None
    assert answered(b'{"jsonrpc": "2.0", "method": "foobar"}') is None


def test_a_call_of_an_unknown_method_is_answered_with_its_id():
    reply = answered(b'{"jsonrpc": "2.0", "method": "foobar", "id": "1"}')
    assert codes([reply]) == [(-32601, "1")]


def test_text_that_is_no_json_is_a_parse_error():
    reply = answered(b'{"jsonrpc": "2.0", "method": "foobar, "params": "bar", "baz]')
    assert codes([reply]) == [(-32700, None)]
    reply = answered(b'[{"jsonrpc": "2.0", "method": "sum", "id": "1"},{"jsonrpc": "2.0", "method"')
    assert codes([reply]) == [(-32700, None)]


def test_a_request_object_that_is_none_is_an_invalid_request():
    reply = answered(b'{"jsonrpc": "2.0", "method": 1, "params": "bar"}')
    assert codes([reply]) == [(-32600, None)]


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        (b'"jsonrpc": "2.0", "method": 1', "`method` must be a string"),
        (b'"jsonrpc": "2.0", "method": "sum", "params": "bar"', "`params` must be an object or an"),
        (b'"jsonrpc": "2.0", "method": "sum", "params": null', "`params` must be an object or an"),
        (b'"jsonrpc": "1.0", "method": "sum"', '`jsonrpc` must be "2.0"'),
        (b'"method": "sum"', '`jsonrpc` must be "2.0"'),
    ],
)
def test_an_invalid_request_is_answered_with_its_id_and_what_is_wrong(fields, told):
    reply = answered(b'{"id": 7, ' + fields + b"}")
    assert codes([reply]) == [(-32600, 7)]
    assert told in reply["error"]["message"]


def test_an_empty_batch_is_one_invalid_request():
    assert codes([answered(b"[]")]) == [(-32600, None)]


def test_each_member_of_an_invalid_batch_is_answered():
    assert codes(answered(b"[1]")) == [(-32600, None)]
    assert codes(answered(b"[1,2,3]")) == [(-32600, None)] * 3


def test_a_batch_is_answered_for_all_but_its_notifications():
    reply = answered(
        b'[{"jsonrpc": "2.0", "method": "sum", "params": [1,2,4], "id": "1"},'
        b'{"jsonrpc": "2.0", "method": "notify_hello", "params": [7]},'
        b'{"jsonrpc": "2.0", "method": "subtract", "params": [42,23], "id": "2"},'
        b'{"foo": "boo"},'
        b'{"jsonrpc": "2.0", "method": "foo.get", "params": {"name": "myself"}, "id": "5"},'
        b'{"jsonrpc": "2.0", "method": "get_data", "id": "9"}]'
    )
    assert codes(reply) == [
        (None, "1"), (None, "2"), (-32600, None), (-32601, "5"), (None, "9"),
    ]  # fmt: skip


def test_a_batch_of_notifications_alone_gets_no_reply():
    line = (
        b'[{"jsonrpc": "2.0", "method": "notify_sum", "params": [1,2,4]},'
        b'{"jsonrpc": "2.0", "method": "notify_hello", "params": [7]}]'
    )
    assert answered(line) is None


# --- what else may stand on a line -------------------------------------------------------------


@pytest.mark.parametrize("line", [b"7", b"-1.5", b'"status"', b"null", b"true"])
def test_a_bare_value_is_an_invalid_request(line):
    assert codes([answered(line)]) == [(-32600, None)]


@pytest.mark.parametrize("request_id", [b"true", b"[]", b"{}", b"[1]"])
def test_an_id_that_is_no_string_number_or_null_is_an_invalid_request(request_id):
    line = b'{"jsonrpc":"2.0","method":"sum","id":' + request_id + b"}"
    assert codes([answered(line)]) == [(-32600, None)]


@pytest.mark.parametrize("request_id", ["x", 7, 1.5, None])
def test_an_id_comes_back_as_it_was(request_id):
    line = json.dumps({"jsonrpc": "2.0", "method": "sum", "id": request_id}).encode()
    assert answered(line) == {"jsonrpc": "2.0", "id": request_id, "result": {}}


@pytest.mark.parametrize("version", [b"", b'"jsonrpc":"1.0",', b'"jsonrpc":2.0,'])
def test_another_version_is_an_invalid_request_answered_with_its_id(version):
    assert codes([answered(b"{" + version + b'"method":"sum","id":4}')]) == [(-32600, 4)]


def test_a_batch_that_would_be_answered_by_thousands_of_errors_is_refused_whole():
    reply = answered(b"[" + b"1," * 30_000 + b"1]")
    assert codes([reply]) == [(-32600, None)]
    assert "may hold 100 requests, this one has 30001" in reply["error"]["message"]


def test_a_batch_may_hold_a_hundred_requests():
    assert codes(answered(b"[" + b",".join([b"1"] * 100) + b"]")) == [(-32600, None)] * 100


@pytest.mark.parametrize(
    "line", [b"[" * 60_000, b'{"a":' * 12_000, b"\xff\xfe", b"", b'"\\ud800"', b"1e999", b"NaN"]
)
def test_hostile_text_is_a_parse_error(line):
    assert codes([answered(line)]) == [(-32700, None)]


@given(st.binary(max_size=200) | JSON.map(msgspec.json.encode))
def test_any_line_is_requests_and_faults_and_never_an_exception(line):
    message = jsonrpc.parse_requests(line)
    assert message.parts
    for part in message.parts:
        assert isinstance(part, jsonrpc.Request | jsonrpc.Fault)
        if isinstance(part, jsonrpc.Fault):
            assert json.loads(jsonrpc.fault_line(part))["id"] == part.id


@given(
    st.fixed_dictionaries(
        {}, optional={"jsonrpc": st.just("2.0"), "method": JSON, "params": JSON, "id": JSON}
    )
)
def test_any_object_is_a_request_only_if_it_is_formed_like_one(body):
    (part,) = jsonrpc.parse_requests(json.dumps(body).encode()).parts
    formed = (
        body.get("jsonrpc") == "2.0"
        and isinstance(body.get("method"), str)
        and isinstance(body.get("params", {}), dict | list)
        and not isinstance(body.get("id"), bool | dict | list)
    )
    assert isinstance(part, jsonrpc.Request) == formed
    if formed:
        assert part.wants_reply == ("id" in body)


# --- the client's side -------------------------------------------------------------------------


def test_a_request_reads_as_the_server_expects_it():
    line = jsonrpc.request_line(5, "sum", {"a": 1.5})
    assert jsonrpc.parse_requests(line).parts == (jsonrpc.Request("sum", {"a": 1.5}, 5),)
    assert json.loads(line) == {"jsonrpc": "2.0", "id": 5, "method": "sum", "params": {"a": 1.5}}


def test_a_result_and_a_fault_are_replies():
    reply = jsonrpc.parse_incoming(jsonrpc.result_line(5, {"a": 1}))
    assert (reply.id, bytes(reply.result)) == (5, b'{"a":1}')
    fault = jsonrpc.Fault(-32000, "no run is live", 6)
    reply = jsonrpc.parse_incoming(jsonrpc.fault_line(fault))
    assert (reply.id, reply.result) == (6, fault)


@pytest.mark.parametrize("request_id", [None, "a", 6, 1.5])
def test_a_fault_names_any_request_or_none_where_its_id_could_not_be_read(request_id):
    # JSON-RPC 2.0, section 5: null for a request whose id could not be detected.
    fault = jsonrpc.Fault(jsonrpc.PARSE_ERROR, "no JSON", request_id)
    reply = jsonrpc.parse_incoming(jsonrpc.fault_line(fault))
    assert (reply.id, reply.result) == (request_id, fault)


def test_a_result_of_null_is_a_result():
    reply = jsonrpc.parse_incoming(jsonrpc.result_line(5, None))
    assert bytes(reply.result) == b"null"


def test_a_notification_keeps_its_parameters_encoded():
    told = jsonrpc.parse_incoming(jsonrpc.notification_line("snapshot", {"t_ns": 3}))
    assert (told.method, bytes(told.params)) == ("snapshot", b'{"t_ns":3}')


@pytest.mark.parametrize(
    "line",
    [
        b"{}",
        b"[]",
        b'{"jsonrpc":"2.0"}',
        b'{"jsonrpc":"2.0","id":1}',
        b'{"jsonrpc":"1.0","id":1,"result":1}',
        b'{"jsonrpc":"2.0","id":1,"result":1,"error":{"code":1,"message":"x"}}',
        b'{"jsonrpc":"2.0","id":1,"method":"m","result":1}',
        b'{"jsonrpc":"2.0","id":1,"error":{"code":"x","message":"x"}}',
        b'{"jsonrpc":"2.0","result":1}',
        b"[" * 60_000,
        b"\xff",
    ],
)
def test_what_is_neither_reply_nor_notification_is_a_wire_error(line):
    with pytest.raises(WireError, match="not a JSON-RPC reply or notification"):
        jsonrpc.parse_incoming(line)


@given(st.binary(max_size=200) | JSON.map(msgspec.json.encode))
def test_any_line_from_a_server_is_read_or_a_wire_error(line):
    try:
        message = jsonrpc.parse_incoming(line)
    except WireError:
        return
    assert isinstance(message, jsonrpc.Reply | jsonrpc.Notification)


def test_a_message_with_bytes_that_are_no_text_is_still_sent():
    fault = jsonrpc.Fault(-32000, "no file p\udcff", 1)
    assert json.loads(jsonrpc.fault_line(fault))["error"]["message"] == "no file p\\udcff"


def test_numbers_that_json_can_not_hold_are_sent_as_null():
    line = jsonrpc.result_line(1, {"a": float("nan"), "b": float("inf")})
    assert json.loads(line)["result"] == {"a": None, "b": None}


def test_bytes_that_are_no_utf_8_are_a_fault_or_a_wire_error():
    (fault,) = jsonrpc.parse_requests(b'{"jsonrpc":"2.0","\xff":1}').parts
    assert fault.code == jsonrpc.PARSE_ERROR
    with pytest.raises(WireError):
        jsonrpc.parse_incoming(b'{"jsonrpc":"2.0","method":"\xff","params":{}}')


def test_error_codes_are_those_of_the_specification_and_our_own_lies_in_the_servers_range():
    # JSON-RPC 2.0, section 5.1.
    assert jsonrpc.PARSE_ERROR == -32700
    assert jsonrpc.INVALID_REQUEST == -32600
    assert jsonrpc.METHOD_NOT_FOUND == -32601
    assert jsonrpc.INVALID_PARAMS == -32602
    assert jsonrpc.INTERNAL_ERROR == -32603
    assert -32099 <= jsonrpc.REFUSED <= -32000
