#!/bin/sh
# Installs what building and testing need and is missing. Says what; asks for sudo only when not root; on systems without
# apt it names the packages and stops.
set -eu

build="build-essential pkg-config libmicrohttpd-dev libsqlite3-dev libcjson-dev libcurl4-gnutls-dev"
tests="libcmocka-dev nodejs npm chromium fonts-dejavu-core"

has() { command -v "$1" >/dev/null 2>&1; }
missing=""
want() { missing="$missing $1"; }

has cc && has make || want build-essential
has pkg-config || want pkg-config
if has pkg-config; then
    pkg-config --exists libmicrohttpd || want libmicrohttpd-dev
    pkg-config --exists sqlite3 || want libsqlite3-dev
    pkg-config --exists libcjson || want libcjson-dev
    pkg-config --exists libcurl || want libcurl4-gnutls-dev
    pkg-config --exists cmocka || want libcmocka-dev
else
    missing="$build libcmocka-dev"
fi
has node || want nodejs
has npm || want npm
has chromium || want chromium
[ -d /usr/share/fonts/truetype/dejavu ] || want fonts-dejavu-core

if [ -n "$missing" ]; then
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
fi

cd "$(dirname "$0")"
if [ ! -e node_modules/.package-lock.json ] || [ package-lock.json -nt node_modules/.package-lock.json ]; then
    echo "Installing the test packages of tests/package.json"
    npm ci --silent --no-audit --no-fund
    touch node_modules/.package-lock.json
fi
