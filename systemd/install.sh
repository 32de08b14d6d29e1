#!/bin/sh
# Installs Ramphold on the press computer (Raspberry Pi OS or Debian, 64-bit) from this checkout, or
# without a network from a stick (`make bundle` fills one).
#
#   sudo sh systemd/install.sh [OPTION...]   install, or upgrade the program and its units
#   sh systemd/install.sh --upgrade          upgrade the program alone; whoever installed it needs no sudo
#   sudo sh systemd/install.sh --uninstall   remove it; configuration and records stay
#
#   --screen              the operator's screen on the monitor at boot, without a login
#   --window              the operator's screen in a window of the desktop, at login
#   --keyboard LAYOUT     the console's keyboard: us, de, fr ...
#   --time-server HOST    where the clock is set from
#
# The new program is put beside the old one. It goes into service only after its own `ramphold check`
# accepts the configuration; if the daemon then does not start, or an instrument that answered no longer
# does, the old program is put back. Your files (bench.toml, the port rules) stay as they are. Nothing is
# done while a run is live. The last lines say what was done.
#
# Exit status: 0 done, and `ramphold check` finds no fault; 1 done, but an instrument does not answer;
# 2 not done, and everything is as it was.
set -eu

prefix=/opt/ramphold
config=/etc/ramphold/bench.toml
rules=/etc/udev/rules.d/60-ramphold.rules
units="ramphold.service ramphold-screen.service ramphold-restart.path ramphold-restart.service
ramphold-backup.service ramphold-backup.timer"
masked="getty@tty1.service autovt@tty1.service ctrl-alt-del.target"
desktop="/etc/xdg/autostart/ramphold-screen.desktop /usr/share/applications/ramphold-screen.desktop"
helpers=/usr/local/lib/ramphold
checkout=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
done_so_far=
old=
new=
umask 022

say() {
    echo "==> $1"
}

did() {
    done_so_far="$done_so_far
    $1"
    say "$1"
}

fail() {
    echo "install.sh: $1" >&2
    exit 2
}

# Whatever ends the script before the new program has proved itself puts the old one back.
clean_up() {
    status=$?
    trap - EXIT HUP INT TERM
    if [ -n "$new" ]; then
        status=2
        restore_units
        if [ "$(readlink -f "$prefix/current")" = "$new" ]; then
            if [ -n "$old" ]; then
                point_to "$old"
                restarts || say "The old program does not start either: systemctl status ramphold"
            else
                rm -f "$prefix/current"
            fi
        fi
        rm -rf "$new"
        echo "install.sh: not done; ${old:-nothing} is in service, as before" >&2
    fi
    exit "$status"
}

running() {
    [ -d /run/systemd/system ]
}

active() {
    running && systemctl is-active --quiet "$1"
}

is_root() {
    [ "$(id -u)" -eq 0 ]
}

# Root leaves its rights behind before it runs the program, which belongs to an ordinary user.
as_operator() {
    if is_root; then
        (cd / && runuser -u ramphold -- "$@")
    else
        (cd / && "$@")
    fi
}

# --- whether it may begin -----------------------------------------------------------------------------

may_begin() {
    [ -d "$checkout/wheels" ] || [ -e "$checkout/pyproject.toml" ] ||
        fail "expected a checkout of the project, or a folder that make bundle filled"
    case $(uname -m) in
        x86_64 | aarch64) [ "$(getconf LONG_BIT)" = 64 ] ;;
        *) false ;;
    esac || fail "expected a 64-bit system (arm64 or amd64): the libraries have no others"
    python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
        fail "expected Python 3.11 or newer as python3"
    known_layout || fail "--keyboard: expected a layout such as us, gb, de or fr, not '$keyboard'"
    if [ "$screen" = console ] && [ -e /etc/systemd/system/display-manager.service ] &&
        [ "$(systemctl get-default)" = graphical.target ]; then
        fail "a desktop starts here at boot: expected --window, or first systemctl set-default multi-user"
    fi
    no_live_run
    old=$(readlink -f "$prefix/current" 2>/dev/null || true)
    [ -d "$old" ] || old=
}

# As far as this system has a list of them.
known_layout() {
    layouts=/usr/share/X11/xkb/rules/base.lst
    [ -z "$keyboard" ] || [ ! -e "$layouts" ] ||
        awk -v wanted="$keyboard" '
            /^!/ { here = $2 == "layout" }
            here && $1 == wanted { found = 1 }
            END { exit !found }' "$layouts"
}

# What a program's own `ramphold check` finds: the live run (live, idle, or none without a daemon), and how
# many instruments do not answer. Nothing, and a failure, if program or configuration is at fault.
look() {
    as_operator "$1/bin/ramphold" check --config "$config" --json 2>/dev/null | python3 -c '
import json, sys
found = json.load(sys.stdin)
print("live" if found["run"] is not None else "idle" if found["through_daemon"] else "none",
      sum(not one["ok"] for one in found["instruments"]))' 2>/dev/null
}

no_live_run() {
    active ramphold.service || return 0
    seen=$(look "$prefix/current") || seen=
    see="ramphold check --config $config shows a live run"
    case $seen in
        idle*) ;;
        live*) fail "a run is live: wait until it has ended ($see)" ;;
        *)
            fail "the daemon does not say whether a run is live ($see); if none is, \
systemctl stop ramphold and try again"
            ;;
    esac
}

# --- the program --------------------------------------------------------------------------------------

make_environment() {
    mkdir -p "$prefix"
    number=$(find "$prefix" -maxdepth 1 -name 'program-*' | sed 's/.*-//' | sort -n | tail -n 1)
    new="$prefix/program-$((${number:-0} + 1))"
    say "New program in $new"
    wheels=
    if [ -d "$checkout/wheels" ]; then
        wheels=$checkout/wheels
        (cd "$checkout" && sha256sum --check --quiet SHA256SUMS) || fail "the stick is damaged: fill it again"
        python3 -m venv --without-pip "$new"
    else
        if ! python3 -c 'import ensurepip' 2>/dev/null; then
            is_root || fail "expected python3-venv: sudo apt-get install python3-venv"
            apt-get update -q
            apt-get install -y -q python3-venv
        fi
        python3 -m venv "$new"
    fi
    install_locked "$checkout/systemd/locked.txt"
    if wants_gpio; then
        say "GPIO library for the bridge converter"
        install_locked "$checkout/systemd/locked-gpio.txt"
    fi
    program=$checkout
    [ -z "$wheels" ] || program=$(find "$wheels" -name 'ramphold-*.whl')
    "$new/bin/python" -m pip install -q --disable-pip-version-check --no-deps "$program"
}

# Install what a list names, of exactly these files. The list also names the pip that later calls use.
install_locked() {
    set -- -r "$1" -q --disable-pip-version-check --require-hashes --only-binary :all:
    if [ -z "$wheels" ]; then
        "$new/bin/python" -m pip install "$@"
    else
        "$new/bin/python" "$(find "$wheels" -name 'pip-*.whl')/pip" install "$@" --no-index --find-links "$wheels"
    fi
}

# Whether bench.toml reads a bridge converter at two GPIOs.
wants_gpio() {
    [ -r "$config" ] && python3 - "$config" <<'PYTHON'
import sys, tomllib
try:
    load = tomllib.load(open(sys.argv[1], "rb")).get("load", {})
except tomllib.TOMLDecodeError:
    load = {}  # the new program's check names the fault
sys.exit(load.get("kind") != "bridge")
PYTHON
}

accepts_configuration() {
    say "Check by the new program"
    if ! look "$new" >/dev/null; then
        as_operator "$new/bin/ramphold" check --config "$config" || true
        fail "the new program does not work here, so it was not put in service"
    fi
}

point_to() {
    ln -sfn "$(basename "$1")" "$prefix/current.new"
    mv -T "$prefix/current.new" "$prefix/current"
}

since() {
    systemctl show -p ActiveEnterTimestampMonotonic --value ramphold.service
}

# Restart the daemon on what is in service now. An ordinary user can only ask for it: ramphold-restart.path.
restarts() {
    before=$(since)
    if is_root; then
        systemctl restart --no-block ramphold.service
        systemctl try-restart --no-block ramphold-screen.service
    else
        date >"$prefix/restart"
    fi
    for _ in $(seq 60); do
        sleep 1
        if active ramphold.service && [ "$(since)" != "$before" ]; then
            return 0
        fi
    done
    return 1
}

# How many instruments do not answer a program.
count_silent() {
    seen=$(look "$1") || seen="none 99"
    echo "${seen#* }"
}

put_in_service() {
    if active ramphold.service; then
        silent_before=$(count_silent "$old")
        no_live_run
        say "Restart on the new program"
        point_to "$new"
        restarts || fail "the daemon does not start with the new program"
        for _ in 1 2 3 4 5 6; do
            silent=$(count_silent "$new")
            [ "$silent" -gt "$silent_before" ] || break
            sleep 5
        done
        [ "$silent" -le "$silent_before" ] || fail "an instrument no longer answers with the new program"
    else
        point_to "$new"
        silent=$(count_silent "$new")
    fi
    did "Program in $new, in service as $prefix/current"
    [ -z "$old" ] || did "The program before it stays in $old"
    for one in "$prefix"/program-*; do
        case $one in "$new" | "$old") ;; *) rm -rf "$one" ;; esac
    done
    new=
}

# --- the system around it -----------------------------------------------------------------------------

# User, folders and what is to be edited; what is there stays.
install_settings() {
    install -D -m 0644 "$checkout/systemd/ramphold.sysusers" /etc/sysusers.d/ramphold.conf
    install -D -m 0644 "$checkout/systemd/ramphold.tmpfiles" /etc/tmpfiles.d/ramphold.conf
    systemd-sysusers ramphold.conf
    systemd-tmpfiles --create ramphold.conf
    if [ ! -e "$config" ]; then
        install -m 0640 -o root -g ramphold "$checkout/systemd/bench.example.toml" "$config"
        did "Example configuration in $config: sudo ramphold setup"
    fi
    if [ ! -e "$rules" ]; then
        install -D -m 0644 "$checkout/hardware/60-ramphold.rules" "$rules"
        did "Port names in $rules: sudo ramphold setup writes your adapters into it"
    fi
}

install_units() {
    rm -rf "$prefix/units-before"
    mkdir "$prefix/units-before"
    for unit in $units; do
        [ ! -e "/etc/systemd/system/$unit" ] || cp -p "/etc/systemd/system/$unit" "$prefix/units-before/"
        install -D -m 0644 "$checkout/systemd/$unit" "/etc/systemd/system/$unit"
    done
    install -D -m 0755 "$checkout/systemd/console-font.sh" "$helpers/console-font.sh"
    ln -sf "$prefix/current/bin/ramphold" /usr/local/bin/ramphold
    # Neither runs while an image is being built. The next boot does it then.
    if running; then
        systemctl daemon-reload
    fi
    if [ -S /run/udev/control ]; then
        udevadm control --reload
        udevadm trigger --subsystem-match=tty
    fi
    systemctl enable -q ramphold.service ramphold-restart.path ramphold-backup.timer
    if running; then
        systemctl start ramphold-restart.path ramphold-backup.timer
    fi
}

restore_units() {
    [ -d "$prefix/units-before" ] || return 0
    for unit in $units; do
        if [ -e "$prefix/units-before/$unit" ]; then
            cp -p "$prefix/units-before/$unit" "/etc/systemd/system/$unit"
        else
            rm -f "/etc/systemd/system/$unit"
        fi
    done
    rm -rf "$prefix/units-before"
    if running; then
        systemctl daemon-reload
    fi
}

# Whoever called sudo becomes an operator, and may upgrade the program.
install_people() {
    rm -rf "$prefix/units-before"
    person=${SUDO_USER:-$(stat -c %U "$prefix")}
    chown -R "$person" "$prefix"
    [ "$person" != root ] || return 0
    usermod -aG ramphold "$person"
    did "$person may use the control socket after the next login, and upgrade without sudo"
}

install_watchdog() {
    if [ -e /dev/watchdog ]; then
        install -d /etc/systemd/system.conf.d
        printf '[Manager]\nRuntimeWatchdogSec=14\n' >/etc/systemd/system.conf.d/ramphold-watchdog.conf
        did "The hardware's watchdog restarts a computer that hangs, from the next boot on"
    else
        did "No hardware watchdog here: a computer that hangs stays hung"
    fi
}

install_screen() {
    # shellcheck disable=SC2086 # names are words
    case $screen in
        console)
            # Its console has no login, and a keyboard does not restart the computer in mid-run.
            systemctl mask -q $masked
            [ -e /usr/share/consolefonts/Uni2-Terminus32x16.psf.gz ] || [ -d "$checkout/wheels" ] ||
                { apt-get update -q && apt-get install -y -q console-setup-linux kbd; } || true
            [ -e /usr/share/consolefonts/Uni2-Terminus32x16.psf.gz ] ||
                did "No larger font for the console: apt-get install console-setup-linux"
            systemctl enable -q ramphold-screen.service
            rm -f $desktop
            did "Screen on the monitor from the next boot on; the technician's login is on Alt+F2"
            ;;
        window)
            systemctl disable -q ramphold-screen.service
            systemctl unmask -q $masked
            for entry in $desktop; do
                install -D -m 0644 "$checkout/systemd/ramphold-screen.desktop" "$entry"
            done
            did "Screen in a window at each login to the desktop"
            ;;
    esac
}

install_keyboard() {
    [ -n "$keyboard" ] || return 0
    printf 'XKBMODEL="pc105"\nXKBLAYOUT="%s"\nXKBVARIANT=""\nXKBOPTIONS=""\nBACKSPACE="guess"\n' \
        "$keyboard" >/etc/default/keyboard
    if command -v setupcon >/dev/null; then
        setupcon --save-only -k
    fi
    did "Keyboard layout $keyboard, from the next boot on"
}

install_time() {
    if [ -n "$time_server" ]; then
        install -d /etc/systemd/timesyncd.conf.d
        printf '[Time]\nNTP=%s\n' "$time_server" >/etc/systemd/timesyncd.conf.d/ramphold.conf
        if running; then
            systemctl try-restart systemd-timesyncd.service
        fi
        did "Time from $time_server"
    fi
    # Records carry this clock's time for years.
    if [ -e /dev/rtc0 ]; then
        did "Clock: a battery clock keeps it while the power is off"
    elif [ "$(timedatectl show -p NTPSynchronized --value 2>/dev/null)" = yes ]; then
        did "Clock: set from the network; without it the date is wrong after a power cut"
    else
        did "Clock: NEITHER battery clock nor time server found; hardware/README.md says what to fit"
    fi
}

units_are_current() {
    for unit in $units; do
        cmp -s "$checkout/systemd/$unit" "/etc/systemd/system/$unit" || return 1
    done
}

summary() {
    echo
    echo "Done:$done_so_far"
    if [ "$silent" -eq 0 ]; then
        active ramphold.service || echo "Next: sudo systemctl start ramphold, or reboot"
        exit 0
    fi
    as_operator "$prefix/current/bin/ramphold" check --config "$config" || true
    echo "Next: mend what says NO above, then ramphold check --config $config"
    exit 1
}

# --- the three ways -----------------------------------------------------------------------------------

full_installation() {
    is_root || fail "expected to run as root: sudo sh systemd/install.sh"
    may_begin
    make_environment
    install_settings
    accepts_configuration
    install_units
    put_in_service
    install_people
    install_watchdog
    install_screen
    install_keyboard
    install_time
    summary
}

upgrade() {
    [ -w "$prefix" ] ||
        fail "expected the owner of $prefix, $(stat -c %U "$prefix" 2>/dev/null || echo nobody yet), or root"
    [ -r "$config" ] || fail "expected to read $config, as members of the group ramphold can: log in again"
    is_root || ! active ramphold.service || active ramphold-restart.path ||
        fail "expected the unit ramphold-restart.path: sudo sh systemd/install.sh puts it in place"
    may_begin
    make_environment
    accepts_configuration
    put_in_service
    ! is_root || chown -R "$(stat -c %U "$prefix")" "$prefix"
    units_are_current || did "The units changed: sudo sh systemd/install.sh puts the new ones in place"
    summary
}

uninstall() {
    is_root || fail "expected to run as root: sudo sh systemd/install.sh --uninstall"
    no_live_run
    # shellcheck disable=SC2086 # names are words
    if running; then
        systemctl disable -q --now $units 2>/dev/null || true
    else
        systemctl disable -q $units 2>/dev/null || true
    fi
    for unit in $units; do
        rm -f "/etc/systemd/system/$unit"
    done
    # shellcheck disable=SC2086
    systemctl unmask -q $masked
    # shellcheck disable=SC2086
    rm -f /etc/sysusers.d/ramphold.conf /etc/tmpfiles.d/ramphold.conf /usr/local/bin/ramphold \
        /etc/systemd/system.conf.d/ramphold-watchdog.conf /etc/systemd/timesyncd.conf.d/ramphold.conf \
        $desktop
    rm -rf "$prefix" "$helpers"
    if running; then
        systemctl daemon-reload
    fi
    say "Removed: program, units and settings of the system"
    say "Kept: records and certificates in /var/lib/ramphold, configuration in /etc/ramphold, port names in \
$rules, and the users that own them"
}

way=full_installation screen='' keyboard='' time_server=''
while [ "$#" -gt 0 ]; do
    case $1 in
        --upgrade) way=upgrade ;;
        --uninstall) way=uninstall ;;
        --screen) screen=console ;;
        --window) screen=window ;;
        --keyboard | --time-server)
            [ "$#" -ge 2 ] || fail "expected a value after $1"
            case $2 in
                '' | *[!A-Za-z0-9.:_-]*) fail "$1: expected a name without spaces, not '$2'" ;;
            esac
            if [ "$1" = --keyboard ]; then keyboard=$2; else time_server=$2; fi
            shift
            ;;
        -h | --help)
            sed -n '2,/^set /s/^# \{0,1\}//p' "$0"
            exit 0
            ;;
        *) fail "expected --upgrade, --uninstall, --screen, --window, --keyboard or --time-server, not '$1'" ;;
    esac
    shift
done
trap clean_up EXIT
trap 'exit 2' HUP INT TERM
"$way"
