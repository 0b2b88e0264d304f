#!/bin/sh
# Bring what some suites need: Chromium, axe-core and html-validate, PostgreSQL, and calendar programs.
# quiet: where it can, and it never fails. loud: fails when something could not be brought.
mode=${1:-quiet}
browser=$(cd "$(dirname "$0")/../browser" && pwd)
calendars=$(cd "$(dirname "$0")/../calendars" && pwd)
export DEBIAN_FRONTEND=noninteractive

has_chromium() { command -v chromium || command -v chromium-browser; } >/dev/null 2>&1
has_postgres() { command -v initdb || ls /usr/lib/postgresql/*/bin/initdb; } >/dev/null 2>&1
has_khal() { command -v khal; } >/dev/null 2>&1
has_calcurse() { command -v calcurse; } >/dev/null 2>&1
has_checkers() {
  [ -d "$browser/node_modules/axe-core" ] && [ -d "$browser/node_modules/html-validate" ] &&
    command -v node
} >/dev/null 2>&1
has_readers() {
  [ -d "$calendars/node_modules/ical.js" ] && [ -d "$calendars/node_modules/node-ical" ] &&
    command -v node
} >/dev/null 2>&1
has_npm() { command -v npm; } >/dev/null 2>&1
# Playwright's driver is linked to it.
has_libatomic() {
  [ "$(uname)" = Linux ] || return 0
  for library in /usr/lib/*/libatomic.so.1 /usr/lib*/libatomic.so.1; do
    [ -e "$library" ] && return 0
  done
  return 1
}
# A stalled network must not hold up a test run for ever.
within() { if command -v timeout >/dev/null 2>&1; then timeout "$@"; else shift; "$@"; fi; }

packages=""
has_chromium || packages="$packages chromium fonts-dejavu-core"
has_libatomic || packages="$packages libatomic1"
has_postgres || packages="$packages postgresql"
has_khal || packages="$packages khal"
has_calcurse || packages="$packages calcurse"
{ has_checkers && has_readers; } || has_npm || packages="$packages npm"

if [ -n "$packages" ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo "Bringing$packages for the tests; the first time takes a few minutes ..."
  within 300 apt-get update -qq </dev/null >/dev/null 2>&1
  # One by one: a package this system does not know must not stop the others.
  for package in $packages; do
    within 600 apt-get install -y -qq --no-install-recommends "$package" </dev/null >/dev/null 2>&1
  done
fi
bring_packages() {
  (cd "$1" && within 120 npm ci --ignore-scripts --no-audit --no-fund) </dev/null >/dev/null 2>&1
  # Under sudo, the folder goes to the person who asked.
  [ -z "$SUDO_UID" ] || chown -R "$SUDO_UID:$SUDO_GID" "$1/node_modules" 2>/dev/null
}
if ! has_checkers && has_npm; then
  echo "Bringing axe-core and html-validate for the tests ..."
  bring_packages "$browser"
fi
if ! has_readers && has_npm; then
  echo "Bringing two calendar readers for the tests ..."
  bring_packages "$calendars"
fi
[ "$mode" = loud ] || exit 0

status=0
lacks() { echo "$1 is missing: $2"; status=1; }
has_chromium || lacks Chromium "run sudo make test-tools, or install the package chromium."
has_libatomic ||
  lacks libatomic "run sudo make test-tools, or install the package libatomic1."
has_postgres || lacks PostgreSQL "run sudo make test-tools, or install the package postgresql."
has_checkers || lacks "axe-core or html-validate" "install npm, then run make test-tools again."
has_khal || lacks khal "run sudo make test-tools, or install the package khal."
has_calcurse || lacks calcurse "run sudo make test-tools, or install the package calcurse."
has_readers || lacks "ical.js or node-ical" "install npm, then run make test-tools again."
[ "$status" = 0 ] && echo "Chromium, axe-core, html-validate, PostgreSQL and the calendar programs are here."
exit "$status"
