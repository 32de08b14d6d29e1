"""The kernel's industrial I/O files, as real files in a folder."""

from pathlib import Path


class IioTree:
    """A folder of converters, written by a test instead of the kernel.

    Args:
        devices: the folder, in place of `/sys/bus/iio/devices`.
    """

    def __init__(self, devices: Path) -> None:
        self.devices = devices

    def bridge(self, number: int = 0, *, supply_uv: int = 5_000_000) -> Path:
        """Add a 24-bit bridge converter at rest; returns its folder."""
        scales = {gain: f"{supply_uv * 100 // gain // 1678 / 1e9:.9f}" for gain in (128, 64, 32)}
        return self._device(
            number,
            name="hx711",
            in_voltage0_raw="8388608",
            in_voltage1_raw="8388608",
            in_voltage_scale=scales[128],
            in_voltage0_scale_available=f"{scales[128]} {scales[64]} ",
            in_voltage1_scale_available=f"{scales[32]} ",
        )

    def sixteen_bit(self, number: int = 1, *, channels: tuple[str, ...] = ("voltage0",)) -> Path:
        """Add a 16-bit converter of +-4.096 V with some channels enabled; returns its folder."""
        files = {f"in_{channel}_raw": "0" for channel in channels}
        files |= {f"in_{channel}_scale": "0.125000000" for channel in channels}
        return self._device(number, name="ads1015", **files)

    def _device(self, number: int, **files: str) -> Path:
        folder = self.devices / f"iio:device{number}"
        folder.mkdir()
        for name, text in files.items():
            show(folder / name, text)
        return folder


def show(path: Path, value: object) -> None:
    """Write a value into a file as the kernel prints it: with a newline."""
    path.write_text(f"{value}\n")
