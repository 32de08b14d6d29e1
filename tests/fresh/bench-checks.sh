# shellcheck shell=bash disable=SC2154,SC2016 # read by bench.sh; shells inside expand what is quoted
# What a booted bench must show, in order; each part goes on from the one before.

upgrade() {
    technician sh "/media/the stick/systemd/install.sh" --upgrade
}

upgrade_broken() {
    technician sh /media/broken/systemd/install.sh --upgrade
}

# Ask the daemon's socket, as an operator's program does.
call() {
    technician python3 - "$1" "${2:-{\}}" <<'PYTHON'
import json, socket, sys
with socket.socket(socket.AF_UNIX) as link:
    link.connect("/run/ramphold/control.sock")
    asked = {"jsonrpc": "2.0", "id": 1, "method": sys.argv[1], "params": json.loads(sys.argv[2])}
    link.sendall(json.dumps(asked).encode() + b"\n")
    answer = json.loads(link.makefile().readline())
print(json.dumps(answer))
sys.exit("error" in answer)
PYTHON
}

# End an upgrade by a signal when it says a line for the nth time; it then has nothing more to say.
cut_short() {
    local signal=$1 nth=$2 line count=0
    while read -r line; do
        echo "$line"
        case $line in '==>'*) count=$((count + 1)) ;; esac
        if [ "$count" -eq "$nth" ]; then
            inside pkill "-$signal" -f 'install.sh --upgrade' || true
            count=-1000
        fi
    done < <(upgrade 2>&1)
    sleep 2
    [ "$count" -lt 0 ]
}

boot
holds "without root it says how to call it" ends 2 "expected to run as root: sudo sh systemd/install.sh" \
    technician sh "/media/the stick/systemd/install.sh"
holds "an unknown option is refused" ends 2 "not '--screens'" install_sh --screens
holds "an unknown keyboard is refused" ends 2 "not 'xyz'" install_sh --keyboard xyz

began=$SECONDS
holds "it installs from the stick alone, and names what does not answer yet" ends 1 "Next: mend what says NO" \
    inside SUDO_USER=technician sh "/media/the stick/systemd/install.sh" --screen --keyboard de \
    --time-server ntp.lab.example
echo "      in $((SECONDS - began)) s"
holds "the program is in service" in_service program-1
holds "it is on the path" inside ramphold --version
holds "a serial bench has no GPIO library" \
    inside sh -c '! /opt/ramphold/current/bin/python -c "import gpiod" 2>/dev/null'
holds "reportlab is there" inside /opt/ramphold/current/bin/python -c 'import reportlab'
holds "daemon and screen start at boot" inside systemctl is-enabled ramphold ramphold-screen ramphold-restart.path
holds "the first console has no login, and Ctrl+Alt+Del restarts nothing" inside sh -c \
    'for one in getty@tty1 autovt@tty1 ctrl-alt-del.target; do [ "$(systemctl is-enabled $one)" = masked ] || exit 1; done'
holds "the keyboard is set" inside grep -q 'XKBLAYOUT="de"' /etc/default/keyboard
holds "the time server is set" inside grep -qx 'NTP=ntp.lab.example' /etc/systemd/timesyncd.conf.d/ramphold.conf
holds "who installed it is an operator" inside sh -c 'id -nG technician | grep -qw ramphold'

inside sed -i -e 's|^port = "/dev/ramphold-load"|port = "socket://127.0.0.1:4001"|' \
    -e '/^\[balance\]/,/^mode/d' /etc/ramphold/bench.toml
inside systemd-run --quiet --unit=indicator python3 -c '
import socketserver, time
class Indicator(socketserver.BaseRequestHandler):
    def handle(self):
        while True:
            self.request.sendall(b"ST,GS,+000012.5lb\r\n")
            time.sleep(0.1)
socketserver.ThreadingTCPServer.allow_reuse_address = True
socketserver.ThreadingTCPServer(("127.0.0.1", 4001), Indicator).serve_forever()'
inside systemctl start ramphold
holds "the daemon runs, and the load answers" inside sh -c \
    'for _ in 1 2 3 4 5 6 7 8; do ramphold check --config /etc/ramphold/bench.toml && exit; sleep 1; done; exit 1'

# --- a restart in a run -------------------------------------------------------------------------------

# Whether the run goes on in another process, with its gap among its events.
goes_on() {
    local before
    before=$(inside systemctl show -p MainPID --value ramphold)
    inside systemctl "$@" ramphold
    for _ in 1 2 3 4 5 6 7 8; do
        sleep 1
        if [ "$(inside systemctl show -p MainPID --value ramphold)" != "$before" ] &&
            call status | grep -F '"taken_up": 1'; then
            call run '{"run": 1}' | tee /dev/stderr | grep -qF RunTakenUp
            return
        fi
    done
    inside journalctl --no-pager -u ramphold -n 20
    return 1
}
holds "a specimen is there" call add_specimen '{"label": "s", "target_psi": 4000, "operator": "ab"}'
holds "a run starts" call start_run '{"specimen": 1, "operator": "ab"}'
sleep 3
holds "systemctl restart in the run: it goes on with a declared gap" goes_on restart
sleep 3
holds "kill -9 in the run: it goes on with a declared gap" goes_on kill -s KILL
holds "the run ends, and is written" call end_run '{"reason": "over", "operator": "ab"}'

# --- the screen on the console ------------------------------------------------------------------------

inside systemd-run --quiet --unit=monitor python3 -c '
import os, pty, select, struct, fcntl, termios
ours, theirs = pty.openpty()
fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 33, 120, 0, 0))
os.symlink(os.ttyname(theirs), "/dev/tty1")
os.mkfifo("/run/keys")
keys = os.open("/run/keys", os.O_RDWR)
with open("/run/painted", "wb", buffering=0) as painted:
    while True:
        ready, _, _ = select.select([ours, keys], [], [])
        if ours in ready: painted.write(os.read(ours, 65536))
        if keys in ready: os.write(ours, os.read(keys, 1024))'
sleep 1
inside systemctl start ramphold-screen
holds "the screen paints the load on the console" inside sh -c \
    'for _ in $(seq 20); do grep -aq lbf /run/painted && exit; sleep 1; done; tail -c 600 /run/painted; exit 1'
holds "no key leads to a shell: Ctrl+C, Ctrl+Z, Ctrl+\\, q, Ctrl+Q" inside sh -c '
    printf "\003\032\034q\021" >/run/keys; sleep 6
    printf "touch /run/reached\r" >/run/keys; sleep 2
    systemctl is-active ramphold-screen && [ ! -e /run/reached ] &&
        ! pgrep -u ramphold-screen -x "sh|bash|login"'
holds "a screen that dies comes again" inside sh -c '
    before=$(systemctl show -p MainPID --value ramphold-screen); kill -9 "$before"; sleep 6
    after=$(systemctl show -p MainPID --value ramphold-screen); [ "$after" -gt 0 ] && [ "$after" -ne "$before" ]'
holds "it may use the socket and little else" inside sh -c \
    'systemd-analyze security --no-pager ramphold-screen | tail -1; systemd-analyze security --threshold=25 ramphold-screen >/dev/null'

# --- upgrades -----------------------------------------------------------------------------------------

began=$SECONDS
holds "the technician upgrades without sudo" ends 0 "Program in /opt/ramphold/program-2" upgrade
echo "      in $((SECONDS - began)) s"
holds "the new program is in service, the old one beside it" as_before program-2 2

broken true
printf x >>"$(find "$work/broken/wheels" -name 'click-[0-9]*.whl')"
holds "a damaged stick is refused" ends 2 "the stick is damaged" upgrade_broken
holds "... and all is as before" as_before program-2 2
seal
holds "a library that is not the locked one is refused" ends 2 "not done" upgrade_broken
holds "... and all is as before" as_before program-2 2
holds "no room for the new program: it is refused" ends 2 "not done" \
    technician prlimit --fsize=200000 sh "/media/the stick/systemd/install.sh" --upgrade
holds "... and all is as before" as_before program-2 2
broken rm ramphold/errors.py
holds "a program that does not start is refused" ends 2 "does not work here" upgrade_broken
holds "... and all is as before" as_before program-2 2
broken sed -i 's/^def load_config(.*/&\n    raise ConfigError("bench.toml: no longer understood")/' ramphold/daemon/config.py
holds "a program that does not accept bench.toml is refused" ends 2 "does not work here" upgrade_broken
holds "... and all is as before" as_before program-2 2
broken sed -i '1i raise SystemExit(3)' ramphold/daemon/main.py
holds "a daemon that does not start: the old one is put back" ends 2 "does not start with the new program" upgrade_broken
holds "... and all is as before" as_before program-2 2
broken sed -i 's/^import /raise ImportError("no serial ports")\nimport /' ramphold/instruments/_serial_port.py
holds "a daemon that cannot read the instruments: the old one is put back" ends 2 "not done" upgrade_broken
holds "... and all is as before" as_before program-2 2
broken true
sed -i 's|^ExecStart=.*|ExecStart=/bin/false|' "$work/broken/systemd/ramphold.service"
seal
holds "a unit that does not start: the old unit is put back too" ends 2 "does not start with the new program" \
    inside sh /media/broken/systemd/install.sh
holds "... and all is as before" as_before program-2 2
for signal in TERM KILL; do
    for nth in 1 2 3; do
        holds "SIG$signal at the upgrade's step $nth" cut_short "$signal" "$nth"
        holds "... the daemon runs on one of them" daemon_runs
        holds "... and check answers" inside ramphold check --config /etc/ramphold/bench.toml
    done
done

holds "a specimen is added" call add_specimen '{"label": "S-1", "target_psi": 4000, "operator": "AB"}'
holds "a run is started" call start_run '{"specimen": 1, "operator": "AB"}'
holds "while a run is live nothing is upgraded" ends 2 "a run is live: wait until it has ended" upgrade
holds "... nor removed" ends 2 "a run is live" install_sh --uninstall
holds "... and check names the run" inside sh -c \
    'ramphold check --config /etc/ramphold/bench.toml | grep "run 1 is live"'
holds "the run is ended" call end_run '{"operator": "AB", "reason": "enough"}'
holds "then it is upgraded" ends 0 "Program in /opt/ramphold/program-" upgrade
holds "root installs again, with the screen in a window" ends 0 "Screen in a window" \
    inside SUDO_USER=technician sh "/media/the stick/systemd/install.sh" --window
holds "... and the console has its login again" inside sh -c \
    'ls /etc/xdg/autostart/ramphold-screen.desktop && [ "$(systemctl is-enabled getty@tty1)" = enabled ]'

inside cp -p /etc/ramphold/bench.toml /etc/ramphold/bench.serial
inside sed -i '/^\[load\]/,/^readings_per_s/c [load]\nkind = "bridge"\ncapacity = "50000lbf"\nreadings_per_s = 80' \
    /etc/ramphold/bench.toml
inside systemctl stop ramphold
holds "a bridge converter brings its GPIO library, without a compiler" ends 1 "GPIO library" upgrade
holds "... which is imported" inside /opt/ramphold/current/bin/python -c 'import gpiod; print(gpiod.__version__)'
inside mv /etc/ramphold/bench.serial /etc/ramphold/bench.toml
inside systemctl start ramphold

# --- the next Debian ----------------------------------------------------------------------------------

if [ "$suite" = bookworm ]; then
    halt
    make_base trixie
    mv "$root" "$work/before"
    cp -a "$folder/boot-trixie" "$root"
    for path in etc/ramphold etc/systemd/system etc/sysusers.d etc/passwd etc/group etc/shadow \
        opt/ramphold var/lib/ramphold usr/local; do
        rm -rf "${root:?}/$path"
        mkdir -p "$(dirname "$root/$path")"
        cp -a "$work/before/$path" "$root/$path"
    done
    boot
    holds "after an upgrade of the system the old program cannot start" inside sh -c '! ramphold --version'
    holds "--upgrade mends that, without sudo" ends 1 "Program in /opt/ramphold/program-" upgrade
    holds "... on the new Python" inside sh -c 'ls /opt/ramphold/current/lib | grep -x python3.13'
    holds "... and the daemon runs" inside sh -c \
        'for _ in $(seq 20); do systemctl is-active --quiet ramphold && exit; sleep 1; done; exit 1'
    holds "... with the run that the old one recorded" call run '{"run": 1}'
fi

# --- removed ------------------------------------------------------------------------------------------

holds "it is removed, and says what stays" ends 0 "Kept: records and certificates in /var/lib/ramphold" \
    install_sh --uninstall
holds "no program, unit or setting is left" inside sh -c '
    ! ls -d /opt/ramphold /usr/local/bin/ramphold /etc/systemd/system/ramphold* /etc/sysusers.d/ramphold.conf \
        /etc/systemd/system/getty@tty1.service 2>/dev/null && ! pgrep -f "[r]amphold daemon"'
holds "records and configuration are" inside ls /var/lib/ramphold/runs.sqlite3 /etc/ramphold/bench.toml
halt
