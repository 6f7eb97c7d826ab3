#!/bin/sh
# What the tests need beside Python packages: a browser and, on Debian, a database server.
# As root on Debian they are installed; elsewhere the browser comes with its driver.
set -eu
python=$1

missing=""
command -v chromium >/dev/null 2>&1 || command -v chromium-browser >/dev/null 2>&1 || missing="chromium fonts-dejavu-core"
ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || missing="$missing postgresql"

if [ -n "$missing" ] && [ "$(id -u)" = 0 ] && [ -f /etc/debian_version ] && command -v apt-get >/dev/null; then
    export DEBIAN_FRONTEND=noninteractive
    apt-get update -qq
    # shellcheck disable=SC2086
    apt-get install -y -qq --no-install-recommends -o DPkg::Lock::Timeout=300 $missing >/dev/null
    exit
fi

case $missing in
*chromium*) "$python" -m playwright install chromium ;;
esac
