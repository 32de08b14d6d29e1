"""What the command line says of itself. Common practice, no source: help is no error."""

import pytest


@pytest.mark.parametrize("group", [(), ("bench",), ("calc",), ("sample",)])
def test_called_without_a_command_it_helps_as_if_asked_to(ramphold, group):
    bare, asked = ramphold(*group), ramphold(*group, "--help")

    assert (bare.status, bare.out, bare.err) == (0, asked.out, "")
    assert "\nCommands:\n" in bare.out


def test_a_command_that_there_is_not_is_refused(ramphold):
    ramphold("crush").assert_refused("No such command 'crush'")
