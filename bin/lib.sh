# What the commands share: where things are, the environment, the system's libraries. Sourced from the checkout.
VENV=${BURGONET_VENV:-.venv}
export UV_LINK_MODE=copy PIP_DISABLE_PIP_VERSION_CHECK=1

say() { printf '%s\n' "$*" >&2; }

ensure_venv() {
    [ -x "$VENV/bin/python" ] && return
    command -v python3 >/dev/null || { say "Python 3.11 or newer is missing. On Debian: apt-get install python3 python3-venv"; exit 1; }
    python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { say "Python 3.11 or newer is needed; this is $(python3 -V)."; exit 1; }
    say "Making the environment in $VENV"
    python3 -m venv "$VENV" || { say "python3 could not make an environment. On Debian: apt-get install python3-venv"; exit 1; }
}

ensure_uv() {
    ensure_venv
    [ -x "$VENV/bin/uv" ] || "$VENV/bin/pip" install --quiet --require-hashes -r requirements-uv.txt
}

# install LOCK: brings the environment to a lock, once for each state of the lock
install() {
    stamp="$VENV/.installed-$(basename "$1" .txt)"
    sum=$(cksum "$1")
    [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$sum" ] && return
    ensure_uv
    say "Installing what $1 lists"
    "$VENV/bin/uv" pip install --quiet --python "$VENV/bin/python" --require-hashes -r "$1"
    printf '%s' "$sum" >"$stamp"
}

# need PACKAGE PROBE: a Debian package, installed where that is allowed, else named with the command
need() {
    eval "$2" >/dev/null 2>&1 && return
    missing="${missing:-} $1"
}

install_missing() {
    [ -z "${missing:-}" ] && return
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        say "Installing from the distribution:$missing"
        { apt-get update && DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing; } >/dev/null && return
    fi
    say "These libraries are missing:$missing"
    say "As an administrator: apt-get install --no-install-recommends$missing"
    exit 1
}

library() { ldconfig -p | grep -q "$1"; }

system_libraries() {
    need libpango-1.0-0 "library libpango-1.0.so"
    need libpangoft2-1.0-0 "library libpangoft2-1.0.so"
    need libharfbuzz-subset0 "library libharfbuzz-subset.so"
    install_missing
}
