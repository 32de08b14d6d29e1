#!/bin/sh
# Makes the certificates of the broker and its clients, from the laboratory's own authority:
#
#   sh certificates.sh FOLDER authority        once, before the others; only you may read FOLDER
#   sh certificates.sh FOLDER server HOST...   the broker's, with each of its names and addresses
#   sh certificates.sh FOLDER client NAME      one for each bench and collector
#   sh certificates.sh FOLDER revoke NAME      shuts a client out: adds its certificate to revoked.crl
#
# Each call makes FOLDER/NAME.crt and FOLDER/NAME.key (authority, server, or the client's name) and
# overwrites none of them; `revoke` moves them to NAME.revoked.crt and .key. A certificate is valid for DAYS days, 1825 (five years) by default.
set -eu
umask 077

fail() {
    echo "certificates.sh: $1" >&2
    exit 2
}

# Makes a private key and a certificate that anyone may read: make NAME COMMON-NAME OPTION...
make() {
    name=$1 common=$2
    shift 2
    [ ! -e "$name.crt" ] || fail "$name.crt is there already: move it away to make another"
    openssl req -x509 -new -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -batch \
        -subj "/CN=$common" -keyout "$name.key" -out "$name.crt" "$@" 2>openssl.log || {
        cat openssl.log >&2
        rm -f openssl.log "$name.key" "$name.crt"
        fail "openssl could not make $name.crt: see above"
    }
    rm -f openssl.log
    chmod 0644 "$name.crt"
}

# Makes a certificate signed by the authority: signed NAME COMMON-NAME USE OPTION...
signed() {
    name=$1 common=$2 use=$3
    shift 3
    [ -e authority.key ] || fail "expected $(pwd)/authority.key: make the authority first"
    make "$name" "$common" -days "${DAYS:-1825}" -CA authority.crt -CAkey authority.key \
        -addext basicConstraints=critical,CA:FALSE -addext "extendedKeyUsage=$use" "$@"
}

# Signs the list of revoked certificates: revoked.crl, as long valid as the authority.
list_revoked() {
    touch revoked.index
    authority_does -gencrl -out revoked.crl
    chmod 0644 revoked.crl
}

authority_does() {
    printf '%s\n' '[ca]' 'default_ca = own' '[own]' 'database = revoked.index' 'default_md = sha256' \
        'default_crl_days = 7300' >revoked.config
    openssl ca -config revoked.config -keyfile authority.key -cert authority.crt "$@" 2>openssl.log || {
        cat openssl.log >&2
        rm -f openssl.log revoked.config
        fail "openssl could not list the revoked certificates: see above"
    }
    rm -f openssl.log revoked.config revoked.index.attr* revoked.index.old
}

alternatives() {
    list=
    for host in "$@"; do
        case $host in
            *:*) list="$list,IP:$host" ;;
            *[!0-9.]*) list="$list,DNS:$host" ;;
            *) list="$list,IP:$host" ;;
        esac
    done
    echo "${list#,}"
}

[ $# -ge 2 ] || fail "expected FOLDER and authority, server HOST..., client NAME or revoke NAME"
mkdir -p "$1"
cd "$1"
kind=$2
shift 2
case $kind in
    authority)
        make authority "Ramphold authority" -days 7300 -addext keyUsage=critical,keyCertSign,cRLSign
        list_revoked
        ;;
    server)
        [ $# -ge 1 ] || fail "expected the names and addresses of the server"
        signed server "$1" serverAuth -addext "subjectAltName=$(alternatives "$@")"
        ;;
    client)
        [ $# -eq 1 ] || fail "expected one name"
        case $1 in
            authority|server|''|[!A-Za-z0-9]*|*[!A-Za-z0-9._-]*)
                fail "expected a name of letters, digits, '.', '_' and '-', not '$1'" ;;
        esac
        signed "$1" "$1" clientAuth
        ;;
    revoke)
        if [ $# -ne 1 ] || [ ! -e "$1.crt" ]; then
            fail "expected the name of a client with a certificate in $(pwd)"
        fi
        authority_does -revoke "$1.crt"
        list_revoked
        mv "$1.crt" "$1.revoked.crt"
        [ ! -e "$1.key" ] || mv "$1.key" "$1.revoked.key"
        ;;
    *) fail "expected authority, server, client or revoke, not '$kind'" ;;
esac
