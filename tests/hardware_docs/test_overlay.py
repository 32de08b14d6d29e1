"""The device-tree overlay, compiled and merged by the tools that a Pi uses."""

import shutil
import subprocess
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(
    shutil.which("dtc") is None, reason="no dtc here: apt-get install device-tree-compiler"
)

NODE = "/ramphold-bridge"
# The part of a Pi's tree that the overlay changes.
BASE = """/dts-v1/;
/ { compatible = "brcm,bcm2835"; #address-cells = <1>; #size-cells = <1>;
    gpio: gpio@7e200000 { reg = <0x7e200000 0xb4>; gpio-controller; #gpio-cells = <2>; };
};
"""


def run(*command: object, **more) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(c) for c in command], check=True, capture_output=True, text=True, **more
    )


@pytest.fixture(scope="module")
def compiled(tmp_path_factory, hardware: Path) -> tuple[Path, str]:
    out = tmp_path_factory.mktemp("overlay") / "ramphold-bridge.dtbo"
    done = run("dtc", "-@", "-I", "dts", "-O", "dtb", "-o", out, hardware / "ramphold-bridge.dts")
    return out, done.stdout + done.stderr


@pytest.fixture(scope="module")
def merged(compiled, tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("merged")
    run("dtc", "-@", "-I", "dts", "-O", "dtb", "-o", folder / "base.dtb", "-", input=BASE)
    run("fdtoverlay", "-i", folder / "base.dtb", "-o", folder / "merged.dtb", compiled[0])
    return folder / "merged.dtb"


def cells(tree: Path, node: str, name: str) -> list[int]:
    return [int(cell, 16) for cell in run("fdtget", "-t", "x", tree, node, name).stdout.split()]


def test_it_compiles_without_a_word(compiled):
    assert compiled[1] == ""


def test_merged_it_describes_the_converter_as_the_kernels_binding_asks(merged):
    # published by torvalds/linux: Documentation/devicetree/bindings/iio/adc/avia-hx711.yaml
    present = set(run("fdtget", "-p", merged, NODE).stdout.split())
    required = {"compatible", "sck-gpios", "dout-gpios", "avdd-supply"}
    assert required <= present
    ours = {"pinctrl-names", "pinctrl-0", "phandle"}  # allowed on any node
    assert present - required - ours <= {"clock-frequency"}
    assert run("fdtget", merged, NODE, "compatible").stdout.strip() == "avia,hx711"
    (clock_hz,) = cells(merged, NODE, "clock-frequency")
    assert 20_000 <= clock_hz <= 2_500_000


def test_the_clock_pulse_stays_well_under_the_50_us_of_the_data_sheet(merged):
    # published: the driver holds the clock high for 1/clock-frequency (hx711.c); data sheet T3
    (clock_hz,) = cells(merged, NODE, "clock-frequency")
    assert 1e6 / clock_hz <= 25


def test_its_lines_are_the_pins_that_the_wiring_table_names(merged, readme, table_under):
    wired = {to: name for _, name, to in table_under(readme, "pin", "name", "goes to")}
    controller = cells(merged, "/gpio@7e200000", "phandle")
    for prop, line in (("dout-gpios", "A, data"), ("sck-gpios", "A, clock")):
        number = int(wired[line].removeprefix("GPIO"))
        assert cells(merged, NODE, prop) == [*controller, number, 0]


def test_the_data_line_is_an_input_pulled_up_and_the_clock_an_output(merged):
    pins = "/gpio@7e200000/ramphold_bridge_pins"
    (_, dout, _), (_, sck, _) = cells(merged, NODE, "dout-gpios"), cells(merged, NODE, "sck-gpios")
    setting = dict(
        zip(
            cells(merged, pins, "brcm,pins"),
            zip(
                cells(merged, pins, "brcm,function"), cells(merged, pins, "brcm,pull"), strict=True
            ),
            strict=True,
        )
    )
    assert setting == {dout: (0, 2), sck: (1, 0)}


def test_the_supply_is_a_fixed_one_of_five_volts(merged):
    (supply,) = cells(merged, NODE, "avdd-supply")
    assert cells(merged, "/ramphold-bridge-avdd", "phandle") == [supply]
    for end in ("min", "max"):
        assert cells(merged, "/ramphold-bridge-avdd", f"regulator-{end}-microvolt") == [5_000_000]


@pytest.mark.parametrize(
    ("parameter", "sets"),
    [
        ("dout", [("dout-gpios", 4, 5), ("brcm,pins", 4, 5)]),
        ("sck", [("sck-gpios", 4, 13), ("brcm,pins", 0, 13)]),
        (
            "avdd",
            [("regulator-min-microvolt", 0, 5_000_000), ("regulator-max-microvolt", 0, 5_000_000)],
        ),
        ("clock", [("clock-frequency", 0, 100_000)]),
    ],
)
def test_each_parameter_points_at_the_cells_that_it_is_to_change(compiled, parameter, sets):
    tree = compiled[0]
    nodes = {}
    for node in (
        "/fragment@0/__overlay__/ramphold-bridge",
        "/fragment@0/__overlay__/ramphold-bridge-avdd",
        "/fragment@1/__overlay__/ramphold_bridge_pins",
    ):
        nodes[cells(tree, node, "phandle")[0]] = node
    found = []
    for phandle, place in overrides(tree, parameter):
        name, offset = place.split(":")
        value = cells(tree, nodes[phandle], name)[int(offset) // 4]
        found.append((name, int(offset), value))
    assert found == sets


def overrides(tree: Path, parameter: str) -> list[tuple[int, str]]:
    """Phandle and `property:offset` of each cell that a parameter sets."""
    text = run("fdtget", "-t", "bx", tree, "/__overrides__", parameter).stdout
    raw = bytes(int(byte, 16) for byte in text.split())
    found = []
    while raw:
        place, _, rest = raw[4:].partition(b"\0")
        found.append((int.from_bytes(raw[:4], "big"), place.decode()))
        raw = rest
    return found
