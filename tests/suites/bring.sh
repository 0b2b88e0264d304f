#!/bin/sh
# Bring what the browser and PostgreSQL suites need: Chromium, axe-core, PostgreSQL.
# quiet: where it can, and it never fails. loud: fails when something could not be brought.
mode=${1:-quiet}
browser=$(cd "$(dirname "$0")/../browser" && pwd)
axe=$browser/node_modules/axe-core/axe.min.js
export DEBIAN_FRONTEND=noninteractive

has_chromium() { command -v chromium || command -v chromium-browser; } >/dev/null 2>&1
has_postgres() { command -v initdb || ls /usr/lib/postgresql/*/bin/initdb; } >/dev/null 2>&1
has_npm() { command -v npm; } >/dev/null 2>&1
# A stalled network must not hold up a test run for ever.
within() { if command -v timeout >/dev/null 2>&1; then timeout "$@"; else shift; "$@"; fi; }

packages=""
has_chromium || packages="$packages chromium fonts-dejavu-core"
has_postgres || packages="$packages postgresql"
[ -f "$axe" ] || has_npm || packages="$packages npm"

if [ -n "$packages" ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo "Bringing$packages for the tests; the first time takes a few minutes ..."
  within 300 apt-get update -qq </dev/null >/dev/null 2>&1
  # One by one: a package this system does not know must not stop the others.
  for package in $packages; do
    within 600 apt-get install -y -qq --no-install-recommends "$package" </dev/null >/dev/null 2>&1
  done
fi
if [ ! -f "$axe" ] && has_npm; then
  echo "Bringing axe-core for the tests ..."
  (cd "$browser" && within 120 npm ci --ignore-scripts --no-audit --no-fund) \
    </dev/null >/dev/null 2>&1
  # Under sudo, the folder goes to the person who asked.
  [ -z "$SUDO_UID" ] || chown -R "$SUDO_UID:$SUDO_GID" "$browser/node_modules" 2>/dev/null
fi
[ "$mode" = loud ] || exit 0

status=0
lacks() { echo "$1 is missing: $2"; status=1; }
has_chromium || lacks Chromium "run sudo make test-tools, or install the package chromium."
has_postgres || lacks PostgreSQL "run sudo make test-tools, or install the package postgresql."
[ -f "$axe" ] || lacks axe-core "install npm, then run make test-tools again."
[ "$status" = 0 ] && echo "Chromium, axe-core and PostgreSQL are here."
exit "$status"
