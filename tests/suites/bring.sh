#!/bin/sh
# Bring what the browser and PostgreSQL suites need. Quiet: where possible, without a word,
# and never failing. Loud: say what is done and fail when something cannot be brought.
mode=${1:-quiet}
here=$(cd "$(dirname "$0")" && pwd)
browser=$here/../browser
missing=""

has_postgres() {
  command -v initdb >/dev/null 2>&1 || ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1
}
need() { missing="$missing $1"; }

command -v chromium >/dev/null 2>&1 || command -v chromium-browser >/dev/null 2>&1 ||
  need "chromium fonts-dejavu-core"
has_postgres || need postgresql
command -v npm >/dev/null 2>&1 || need npm

if [ -n "$missing" ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  [ "$mode" = loud ] && echo "Installing$missing ..."
  export DEBIAN_FRONTEND=noninteractive
  { apt-get update -qq && apt-get install -y -qq --no-install-recommends $missing; } \
    >/dev/null 2>&1 </dev/null
fi
if [ ! -f "$browser/node_modules/axe-core/axe.min.js" ] && command -v npm >/dev/null 2>&1; then
  [ "$mode" = loud ] && echo "Installing axe-core ..."
  (cd "$browser" && npm ci --ignore-scripts --no-audit --no-fund) >/dev/null 2>&1 </dev/null
fi
[ "$mode" = loud ] || exit 0

status=0
command -v chromium >/dev/null 2>&1 || command -v chromium-browser >/dev/null 2>&1 ||
  { echo "chromium is missing: run this as root, or install the package chromium."; status=1; }
has_postgres ||
  { echo "PostgreSQL is missing: run this as root, or install the package postgresql."; status=1; }
[ -f "$browser/node_modules/axe-core/axe.min.js" ] ||
  { echo "axe-core is missing: install npm, then run this again."; status=1; }
exit $status
