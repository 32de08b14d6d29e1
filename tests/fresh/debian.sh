#!/bin/bash
# Runs the README's two commands on a fresh Debian, as an ordinary user:
#
#   sudo tests/fresh/debian.sh FOLDER SUITE [ARCHITECTURE [PACKAGE... [-- COMMAND...]]]
#   sudo tests/fresh/debian.sh /var/tmp/trixie trixie
#   sudo tests/fresh/debian.sh /var/tmp/bookworm-arm64 bookworm arm64 mosquitto openssl -- make demo
#
# FOLDER/SUITE-ARCHITECTURE becomes a minimal Debian with git, make, python3-venv and each PACKAGE, and
# is used again if it is there; remove it as any folder. A user without rights clones the last commit
# there and runs `make demo` and `make test`, or each COMMAND (one argument each). The last lines say what
# each came to and how long it took; exit status 1 if one failed.
#
# Needs mmdebstrap, and qemu-user-static with binfmt-support for a foreign architecture. Debian's mirror
# and pip's settings are those of this machine.
set -euo pipefail
shopt -s inherit_errexit

usage() {
    sed -n '2,/^set /s/^# \{0,1\}//p' "$0"
    exit 2
}

# The mirror, as this machine's apt has it.
mirror() {
    # shellcheck disable=SC2016 # apt-get puts them in
    apt-get indextargets --format '$(REPO_URI) $(SUITE)' 'Created-By: Packages' 'Origin: Debian' |
        awk '$2 !~ /-(security|updates|backports)$/ { print $1; exit }'
}

make_root() {
    local packages
    packages=$(IFS=,; echo "git,make,python3-venv${*:+,$*}")
    rm -rf "$root.new"
    # A mirror that was frozen some weeks ago does as well.
    mmdebstrap --quiet --variant=minbase --architectures="$architecture" --include="$packages" \
        --aptopt='Acquire::Check-Valid-Until "false"' "$suite" "$root.new" "$(mirror)"
    chroot "$root.new" useradd --create-home --shell /bin/bash "$user"
    mv "$root.new" "$root"
}

# What a program expects of a running system, in a mount namespace of our own.
mount_system() {
    mount -t proc proc "$root/proc"
    mount -t sysfs -o ro sysfs "$root/sys"
    mount -t tmpfs -o mode=755 tmpfs "$root/dev"
    mkdir "$root/dev/pts" "$root/dev/shm"
    mount -t devpts -o newinstance,ptmxmode=666,mode=620 devpts "$root/dev/pts"
    mount -t tmpfs -o mode=1777 tmpfs "$root/dev/shm"
    ln -s pts/ptmx "$root/dev/ptmx"
    ln -s /proc/self/fd "$root/dev/fd"
    local name
    for name in null zero full random urandom tty; do
        touch "$root/dev/$name"
        mount --bind "/dev/$name" "$root/dev/$name"
    done
}

# The machine's way to a package index: its name server, and each file and folder that pip's settings
# name, at the same place.
share_network() {
    cp -L /etc/resolv.conf /etc/hosts "$root/etc/"
    local path
    { python3 -m pip config list; python3 -m pip config debug; env | grep -E "^($settings)="; } 2>/dev/null |
        grep -oE '/[[:alnum:]._/-]+' | sort -u | while read -r path; do
        case $path in /etc/* | /opt/* | /srv/* | /usr/local/*) ;; *) continue ;; esac
        [ ! -f "$path" ] && [ ! -d "$path" ] && continue
        mkdir -p "$root$(dirname "$path")"
        if [ -d "$path" ]; then mkdir -p "$root$path"; else touch "$root$path"; fi
        mount --bind "$path" "$root$path"
    done
}

as_user() {
    local kept=()
    mapfile -t kept < <(env | grep -E "^($settings)=")
    chroot --userspec="$user:$user" "$root" /usr/bin/env -i "${kept[@]}" "HOME=/home/$user" "USER=$user" \
        PATH=/usr/local/bin:/usr/bin:/bin LANG=C.UTF-8 TERM=xterm-256color /bin/bash -o pipefail -c "$1"
}

run_in_root() {
    local status=0 command began commit told=()
    mount_system
    share_network
    rm -rf "$root/home/$user/ramphold"
    commit=$(git -C "$checkout" rev-parse --short HEAD)
    git -C "$checkout" bundle create --quiet "$root/home/$user/ramphold.bundle" HEAD
    as_user 'cd && git -c advice.detachedHead=false -c init.defaultBranch=main clone --quiet ramphold.bundle ramphold'
    for command in "$@"; do
        began=$SECONDS
        echo "==> $suite $architecture: $command"
        if as_user "cd && cd ramphold && $command" </dev/null; then
            told+=("pass  $((SECONDS - began)) s  $command")
        else
            told+=("FAIL  $((SECONDS - began)) s  $command")
            status=1
        fi
    done
    echo "==> $suite $architecture, $(as_user 'python3 --version'), $commit"
    printf '    %s\n' "${told[@]}"
    return "$status"
}

checkout=$(cd "$(dirname "$0")/../.." && pwd)
user=newcomer
settings='PIP_[A-Z_]*|SSL_CERT_FILE|REQUESTS_CA_BUNDLE|(https?|no|all)_proxy|(HTTPS?|NO|ALL)_PROXY'

[ "$#" -ge 2 ] || usage
[ "$(id -u)" -eq 0 ] || { echo "debian.sh: expected to run as root" >&2; exit 2; }
if [ -z "${IN_OWN_NAMESPACE:-}" ]; then
    IN_OWN_NAMESPACE=1 exec unshare --mount --pid --fork --kill-child "$0" "$@"
fi
mount --make-rprivate /

folder=$1 suite=$2 architecture=${3:-$(dpkg --print-architecture)}
shift "$(($# < 3 ? $# : 3))"
packages=()
while [ "$#" -gt 0 ] && [ "$1" != -- ]; do packages+=("$1"); shift; done
[ "$#" -eq 0 ] || shift
[ "$#" -gt 0 ] || set -- 'make demo' 'make test'
root=$(realpath -m "$folder")/$suite-$architecture
mkdir -p "$(dirname "$root")"
[ -d "$root" ] || make_root "${packages[@]}"
run_in_root "$@"
