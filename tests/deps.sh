#!/bin/sh
# Installs what is missing: `deps.sh build` for building, `deps.sh demo` for the demo as well, which can do without its broker,
# `deps.sh tests` for the tests. Says what it installs, asks for sudo only when not root; on systems without apt it names the packages and stops.
set -eu

missing=""
has() { command -v "$1" >/dev/null 2>&1; }
want() { missing="$missing $1"; }
want_library() { # pkg-config name, Debian package
    if ! has pkg-config || ! pkg-config --exists "$1"; then want "$2"; fi
}

check_build() {
    if ! has cc || ! has make; then want build-essential; fi
    has pkg-config || want pkg-config
    want_library libmicrohttpd libmicrohttpd-dev
    want_library gnutls libgnutls28-dev
    want_library sqlite3 libsqlite3-dev
    want_library libcjson libcjson-dev
    want_library libqrencode libqrencode-dev
    want_library libcurl libcurl4-gnutls-dev
    want_library libmosquitto libmosquitto-dev
    [ -d /usr/share/zoneinfo ] || want tzdata
}

check_broker() {
    if ! has mosquitto && [ ! -x /usr/sbin/mosquitto ]; then want mosquitto; fi
}

check_tests() {
    want_library cmocka libcmocka-dev
    want_library libical libical-dev
    has node || want nodejs
    has npm || want npm
    check_broker
    has openssl || want openssl
    has chromium || want chromium
    has zbarimg || want zbar-tools
    [ -d /usr/share/fonts/truetype/dejavu ] || want fonts-dejavu-core
}

install_missing() {
    if ! has apt-get; then
        echo "Missing packages, by their Debian names:$missing" >&2
        echo "This system has no apt-get: install their likes and run make again." >&2
        exit 1
    fi
    as_root=""
    [ "$(id -u)" -eq 0 ] || as_root="sudo"
    echo "Installing:$missing"
    $as_root apt-get update -qq
    # shellcheck disable=SC2086  # a list on purpose
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
}

install_test_packages() {
    cd "$(dirname "$0")"
    if [ -e node_modules/.installed ] && [ ! package-lock.json -nt node_modules/.installed ]; then return; fi
    echo "Installing the test packages that tests/package.json names"
    npm ci --loglevel=error --no-audit --no-fund
    touch node_modules/.installed
}

check_build
if [ "${1:-tests}" = tests ]; then check_tests; fi
if [ -n "$missing" ]; then install_missing; fi
if [ "${1:-tests}" = tests ]; then install_test_packages; fi
if [ "${1:-tests}" = demo ]; then
    missing=""
    check_broker
    if [ -n "$missing" ] && ! (install_missing); then echo "The demo goes on without$missing." >&2; fi
fi
