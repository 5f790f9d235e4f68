#!/bin/sh
# Installs what a bare Debian or Ubuntu lacks to build Sameshot and to open its window. Rust itself comes
# from https://rustup.rs. Does nothing where everything is there; asks for sudo only where it must.
set -eu

# A C linker for the build; the rest is opened by the window at run time.
packages="gcc libc6-dev libx11-6 libxcursor1 libxi6 libx11-xcb1 libxkbcommon-x11-0 libgl1"

if ! command -v dpkg-query >/dev/null 2>&1; then
    echo "This is no Debian: install the equivalents of: $packages" >&2
    exit 0
fi

missing=""
for package in $packages; do
    case "$(dpkg-query -W -f='${Status}' "$package" 2>/dev/null || true)" in
        *"ok installed"*) ;;
        *) missing="$missing $package" ;;
    esac
done
[ -n "$missing" ] || exit 0

as_root=""
[ "$(id -u)" -eq 0 ] || as_root="sudo"
echo "Installing:$missing" >&2
$as_root apt-get update -qq
# shellcheck disable=SC2086  # a list of words
DEBIAN_FRONTEND=noninteractive $as_root apt-get install -y -qq --no-install-recommends $missing >/dev/null
