# What the commands share: the environment and the system's libraries. Sourced from the checkout.
VENV=${BURGONET_VENV:-$PWD/.venv}
PY=$VENV/bin/python
export UV_LINK_MODE=copy PIP_DISABLE_PIP_VERSION_CHECK=1

say() { printf '%s\n' "$*" >&2; }
python3_fits() { python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; }

# A mark is written last, so that half an environment never counts.
ensure_venv() {
    [ -x "$PY" ] && [ -f "$VENV/.made" ] && return
    python3_fits || { say "Python 3.11 or newer is needed. On Debian 12 or newer: apt-get install python3 python3-venv"; exit 1; }
    say "Making the environment in $VENV"
    python3 -m venv --clear "$VENV" || { say "python3 cannot make one. On Debian: apt-get install python3-venv"; exit 1; }
    touch "$VENV/.made"
}

# uv is ten times as quick; where it cannot reach what pip is set up for, pip does the same.
fetch() {
    "$PY" -m pip install --quiet --require-hashes -r requirements-uv.txt &&
        "$PY" -m uv pip install --quiet --python "$PY" --require-hashes -r "$1" && return
    say "Trying with pip"
    "$PY" -m pip install --quiet --require-hashes -r "$1"
}

# install LOCK: brings the environment to a lock, once for each state of the lock
install() {
    stamp=$VENV/.installed-$(basename "$1" .txt)
    sum=$(cksum <"$1")
    [ "$(cat "$stamp" 2>/dev/null)" = "$sum" ] && return
    say "Installing what $1 lists"
    fetch "$1" && printf '%s' "$sum" >"$stamp"
}

# need PACKAGE COMMAND...: remembers a package of the distribution when the command that needs it fails
missing=
need() {
    package=$1
    shift
    "$@" >/dev/null 2>&1 || missing="$missing $package"
}
loads() { python3 -c 'import ctypes, sys; ctypes.CDLL(sys.argv[1])' "$1"; }

# Installs what is missing where that is allowed, else names it with the command that does.
install_missing() {
    [ -n "$missing" ] || return 0
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        say "Installing from the distribution:$missing"
        # shellcheck disable=SC2086 # a list of words
        { apt-get update && DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing; } >/dev/null && return
    fi
    say "Missing on this machine:$missing"
    say "An administrator installs it on Debian with: apt-get install --no-install-recommends$missing"
    return 1
}

# The program reads its translations compiled; the sources alone are kept in the history.
compile_words() {
    for po in museum/locale/*/LC_MESSAGES/django.po; do
        [ "${po%.po}.mo" -nt "$po" ] && continue
        "$PY" -m museum.catalogues compile && return
    done
}
