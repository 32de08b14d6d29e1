#!/bin/bash
# Installs, upgrades, breaks and removes Ramphold in a booted container, as far as one can:
#
#   sudo tests/fresh/bench.sh FOLDER SUITE BUNDLE
#   make bundle && sudo tests/fresh/bench.sh /var/tmp bookworm dist/bundle
#
# FOLDER/boot-SUITE becomes a Debian with systemd, and is used again if it is there; the bench runs on a
# copy of it, without a network to install from. A process plays the load indicator. On bookworm the last part replaces the system's
# folder of programs by trixie's, as an upgrade of the system does, and mends the bench by --upgrade.
# A line tells each check; exit status 1 if one failed.
#
# What it cannot show: the monitor, the keyboard, the watchdog, the GPIO and the adapters of a real Pi.
#
# Needs mmdebstrap and systemd-nspawn. Debian's mirror is that of this machine.
set -euo pipefail
shopt -s inherit_errexit

[ "$#" -eq 3 ] || { sed -n '2,/^set /s/^# \{0,1\}//p' "$0"; exit 2; }
[ "$(id -u)" -eq 0 ] || { echo "bench.sh: expected to run as root" >&2; exit 2; }
if [ -z "${IN_OWN_NAMESPACE:-}" ]; then
    # A namespace of process numbers ends the container with the script.
    IN_OWN_NAMESPACE=1 exec unshare --mount --pid --fork --kill-child --mount-proc "$0" "$@"
fi
folder=$(realpath -m "$1") suite=$2 bundle=$(realpath "$3")
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d "$folder/bench.XXXXXX")
failures=0
leader=
trap '[ -z "$leader" ] || kill -9 "$leader" 2>/dev/null; wait; rm -rf "$work"' EXIT

# --- the container ------------------------------------------------------------------------------------

mirror() {
    # shellcheck disable=SC2016 # apt-get puts them in
    apt-get indextargets --format '$(REPO_URI) $(SUITE)' 'Created-By: Packages' 'Origin: Debian' |
        awk '$2 !~ /-(security|updates|backports)$/ { print $1; exit }'
}

make_base() {
    [ ! -d "$folder/boot-$1" ] || return 0
    rm -rf "$folder/boot-$1.new"
    mmdebstrap --quiet --variant=minbase --aptopt='Acquire::Check-Valid-Until "false"' \
        --include=python3,systemd,systemd-sysv,dbus,udev,kbd,console-setup,sudo,procps,systemd-timesyncd \
        "$1" "$folder/boot-$1.new" "$(mirror)"
    chroot "$folder/boot-$1.new" useradd --create-home --shell /bin/bash technician
    mv "$folder/boot-$1.new" "$folder/boot-$1"
}

boot() {
    systemd-nspawn --quiet --keep-unit --register=no --boot --private-network --machine=bench \
        --bind-ro="$bundle:/media/the stick" --bind-ro="$work/broken:/media/broken" \
        --directory="$root" </dev/null >>"$work/console" 2>&1 &
    local _
    for _ in $(seq 120); do
        leader=$(pgrep -P "$!" || true)
        if [ -n "$leader" ] && inside systemctl is-active --quiet multi-user.target 2>/dev/null; then
            return 0
        fi
        sleep 0.5
    done
    echo "bench.sh: the container does not boot" >&2
    tail -20 "$work/console" >&2
    exit 1
}

halt() {
    inside systemctl poweroff || true
    wait
    leader=
}

inside() {
    nsenter --target "$leader" --all -- /usr/bin/env -i PATH=/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 \
        TERM=linux "$@"
}

technician() {
    inside runuser -u technician -- "$@"
}

# --- what is looked at --------------------------------------------------------------------------------

# A sentence, and the command that must succeed.
holds() {
    local sentence=$1
    shift
    if "$@" >"$work/said" 2>&1; then
        echo "ok    $sentence"
    else
        echo "FAIL  $sentence"
        sed 's/^/      | /' "$work/said" | tail -15
        failures=$((failures + 1))
    fi
}

# The exit status of a command, and a text that it must say.
ends() {
    local wanted=$1 text=$2 status=0
    shift 2
    "$@" >"$work/run" 2>&1 || status=$?
    cat "$work/run"
    echo "exit status $status, expected $wanted"
    [ "$status" -eq "$wanted" ] && grep -qF "$text" "$work/run"
}

in_service() {
    [ "$(inside readlink /opt/ramphold/current)" = "$1" ]
}

daemon_runs() {
    inside systemctl is-active --quiet ramphold.service
    inside readlink -f "/proc/$(inside systemctl show -p MainPID --value ramphold)/exe"
    inside tr '\0' ' ' <"/proc/$(pgrep -f 'ramphold daemon' | head -n 1)/cmdline"
}

# The program in service, its daemon, and no half-made one beside it.
as_before() {
    in_service "$1" && daemon_runs &&
        [ "$(inside find /opt/ramphold -maxdepth 1 -name 'program-*' | wc -l)" -eq "$2" ] &&
        inside ramphold check --config /etc/ramphold/bench.toml
}

install_sh() {
    inside sh "/media/the stick/systemd/install.sh" "$@"
}

# A stick whose program is changed by a command at its unpacked wheel.
broken() {
    rm -rf "$work/unpacked" "${work:?}/broken"/*
    cp -R "$bundle"/. "$work/broken/"
    local wheel
    wheel=$(find "$work/broken/wheels" -name 'ramphold-*.whl')
    python3 -m zipfile -e "$wheel" "$work/unpacked"
    (cd "$work/unpacked" && "$@")
    (cd "$work/unpacked" && rm "$wheel" && python3 -m zipfile -c "$wheel" ./*)
    seal
}

# The stick's own sums again, after a change.
seal() {
    (cd "$work/broken" && rm SHA256SUMS && find . -type f -exec sha256sum {} + >"$work/sums")
    mv "$work/sums" "$work/broken/SHA256SUMS"
}

# --- the bench ----------------------------------------------------------------------------------------

root=$work/root
make_base "$suite"
cp -a "$folder/boot-$suite" "$root"
mkdir "$work/broken"
mount --make-rprivate /
# One hierarchy of control groups, as systemd wants it.
umount -R /sys/fs/cgroup 2>/dev/null || umount -l /sys/fs/cgroup
mount -t cgroup2 none /sys/fs/cgroup
# shellcheck source=tests/fresh/bench-checks.sh
. "$here/bench-checks.sh"

if [ "$failures" -gt 0 ]; then
    echo "==> $suite: $failures failed"
    exit 1
fi
echo "==> $suite: every check holds"
