#!/bin/sh
# Fills a folder, such as one on a stick, with everything that install.sh needs without a network: the
# program as a wheel, and exactly the libraries that locked.txt names, for bookworm and trixie on arm64
# and amd64.
#
#   systemd/bundle.sh PYTHON FOLDER     PYTHON has pip; FOLDER must not exist
#
# At the press: sudo sh FOLDER/systemd/install.sh
set -eu

python=$1 folder=$2
checkout=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
[ ! -e "$folder" ] || { echo "bundle.sh: $folder is there already: move it away" >&2; exit 2; }

mkdir -p "$folder/hardware"
cp -R "$checkout/systemd" "$folder/"
cp "$checkout/hardware/60-ramphold.rules" "$folder/hardware/"
"$python" -m pip wheel -q --disable-pip-version-check --no-deps -w "$folder/wheels" "$checkout"
for machine in aarch64 x86_64; do
    # Every wheel that bookworm's C library, 2.36, can load.
    set --
    for minor in $(seq 17 36); do
        set -- "$@" --platform "manylinux_2_${minor}_$machine"
    done
    for version in 3.11 3.13; do
        for list in locked.txt locked-gpio.txt; do
            "$python" -m pip download -q --disable-pip-version-check --no-deps --require-hashes \
                --only-binary :all: --python-version "$version" "$@" --platform "manylinux2014_$machine" \
                -r "$checkout/systemd/$list" -d "$folder/wheels"
        done
    done
done
(cd "$folder" && find hardware systemd wheels -type f -exec sha256sum {} +) >"$folder/SHA256SUMS"
echo "$folder: $(find "$folder/wheels" -name '*.whl' | wc -l) wheels, $(du -sh "$folder" | cut -f1)"
