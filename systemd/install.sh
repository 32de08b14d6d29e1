#!/bin/sh
# Installs Ramphold on the press computer (Raspberry Pi OS, Debian) from this checkout: program, user,
# service, port names, and an example configuration if there is none. Run it again after every update.
# It does not overwrite the files that you edit (bench.toml, the port rules), and it does not start
# the service; its last line says how.
#
# Exit status: 0 if the installation succeeded and its last step, `ramphold check`, found no fault.
set -eu

prefix=/opt/ramphold
state=/var/lib/ramphold
config=/etc/ramphold/bench.toml
rules=/etc/udev/rules.d/60-ramphold.rules
checkout=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)

say() {
    echo "==> $1"
}

fail() {
    echo "install.sh: $1" >&2
    exit 2
}

may_install() {
    [ "$(id -u)" -eq 0 ] || fail "expected to run as root: sudo sh systemd/install.sh"
    if systemctl is-active --quiet ramphold.service 2>/dev/null; then
        fail "ramphold.service is running: when no run is live, systemctl stop ramphold"
    fi
    python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
        fail "expected Python 3.11 or newer as python3"
}

install_program() {
    say "Program in $prefix"
    if ! python3 -c 'import ensurepip' 2>/dev/null; then
        apt-get update -q
        apt-get install -y -q python3-venv
    fi
    # After a system update the environment may belong to a Python that is gone. Then make a new one.
    [ -d "$prefix/lib/$(python3 -c 'import sys; print("python%d.%d" % sys.version_info[:2])')" ] ||
        python3 -m venv --clear "$prefix"
    extra=
    if grep -qs 'Raspberry Pi' /proc/device-tree/model; then
        extra='[pi]'
    fi
    "$prefix/bin/python" -m pip install -q --disable-pip-version-check "$checkout$extra"
    ln -sf "$prefix/bin/ramphold" /usr/local/bin/ramphold
}

install_service() {
    say "User, folders and service"
    install -D -m 0644 "$checkout/systemd/ramphold.sysusers" /etc/sysusers.d/ramphold.conf
    install -D -m 0644 "$checkout/systemd/ramphold.tmpfiles" /etc/tmpfiles.d/ramphold.conf
    install -D -m 0644 "$checkout/systemd/ramphold.service" /etc/systemd/system/ramphold.service
    systemd-sysusers ramphold.conf
    systemd-tmpfiles --create ramphold.conf
    # The user who called sudo becomes an operator.
    if [ -n "${SUDO_USER:-}" ] && [ "$SUDO_USER" != root ]; then
        usermod -aG ramphold "$SUDO_USER"
        say "$SUDO_USER may use the control socket after the next login"
    fi
}

install_settings() {
    if [ ! -e "$config" ]; then
        say "Example configuration: edit $config"
        install -m 0640 -o root -g ramphold "$checkout/systemd/bench.example.toml" "$config"
    fi
    if [ ! -e "$rules" ]; then
        say "Port names: write your adapters' serial numbers into $rules"
        install -D -m 0644 "$checkout/hardware/60-ramphold.rules" "$rules"
    fi
}

activate() {
    say "Enabled at boot"
    # Neither runs while an image is being built. The next boot does it then.
    if [ -d /run/systemd/system ]; then
        systemctl daemon-reload
    fi
    if [ -S /run/udev/control ]; then
        udevadm control --reload
        udevadm trigger --subsystem-match=tty
    fi
    systemctl enable -q ramphold.service
}

check() {
    say "ramphold check"
    cd "$state"
    if runuser -u ramphold -- "$prefix/bin/ramphold" check --config "$config"; then
        say "Ready: sudo systemctl start ramphold"
    else
        status=$?
        say "Installed, but not ready: fix the above, then run ramphold check --config $config"
        exit "$status"
    fi
}

may_install
install_program
install_service
install_settings
activate
check
