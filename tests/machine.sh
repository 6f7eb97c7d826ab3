#!/bin/sh
# What the tests need beside Python packages: a browser and, on Debian, a database server.
# As root on Debian they are installed; elsewhere the browser comes with its driver.
set -eu
python=$1

has() { command -v "$1" >/dev/null 2>&1; }
install() {
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
        -o DPkg::Lock::Timeout=300 "$@" >/dev/null
}

# The same browser without what draws its windows takes a fourth of the work to open a page; not every Debian has it.
browser=""
has chromium-headless-shell || browser=chromium-headless-shell
server=""
ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || server=postgresql

if [ -n "$browser$server" ] && [ "$(id -u)" = 0 ] && [ -f /etc/debian_version ] && has apt-get; then
    apt-get update -qq || true # without a network what is there has to do
    [ -z "$server" ] || install "$server"
    [ -z "$browser" ] || install "$browser" fonts-dejavu-core || has chromium || install chromium fonts-dejavu-core
    exit
fi

[ -z "$browser" ] || has chromium || has chromium-browser || "$python" -m playwright install chromium
