# Brings a bare Debian or Ubuntu machine to where the project can run. Sourced by demo/run and tests/run.
#   set_up EXTRAS PACKAGE...   EXTRAS is "" or an extra of pyproject.toml; each PACKAGE a Debian package.
# Sets PY to the Python of the project's virtual environment. A second call costs a fraction of a second.

top=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
venv=$top/.venv
PY=$venv/bin/python
export LANG=${LANG:-C.UTF-8} PYTHONUTF8=1

say() { printf '%s\n' "$*" >&2; }
fail() { say "$0: $*"; exit 1; }

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"
  elif ! command -v sudo >/dev/null; then fail "these packages need root or sudo: ${missing[*]}"
  elif [ -t 0 ]; then sudo "$@"
  else sudo -n "$@" || fail "sudo asks for a password, and there is nobody to type it; install by hand: ${missing[*]}"
  fi
}

install_packages() {
  local missing=() package
  command -v dpkg-query >/dev/null || fail "this is not Debian or Ubuntu: install $* by their names there, and see README.md"
  for package in "$@"; do
    [ "$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null)" = installed ] || missing+=("$package")
  done
  [ ${#missing[@]} -gt 0 ] || return 0
  say "Installing system packages: ${missing[*]}"
  local apt=(env DEBIAN_FRONTEND=noninteractive apt-get -q -y -o Dpkg::Use-Pty=0)
  # The package lists are fetched only where they are absent, or too old to install from.
  if apt-cache show "${missing[@]}" >/dev/null 2>&1; then
    as_root "${apt[@]}" install --no-install-recommends "${missing[@]}" >&2 </dev/null && return 0
  fi
  as_root "${apt[@]}" update >&2 </dev/null || fail "apt-get update failed (its message stands above)"
  as_root "${apt[@]}" install --no-install-recommends "${missing[@]}" >&2 </dev/null ||
    fail "apt-get could not install ${missing[*]} (its message stands above)"
}

make_venv() {
  "$PY" -c 'import pip' 2>/dev/null && return 0
  say "Making the virtual environment .venv"
  python3 -m venv --clear "$venv" || fail "the virtual environment could not be made"
}

install_project() {
  local extras=$1 stamp mark
  # Renewed when the dependencies change, the folder moves or the machine's Python does.
  mark=$({ "$PY" -V; printf '%s\n' "$top"; cat "$top/pyproject.toml"; } | sha256sum | cut -c1-64)
  for stamp in "$venv/installed-$extras" "$venv/installed-test"; do
    [ "$(cat "$stamp" 2>/dev/null)" = "$mark" ] && return 0
  done
  say "Installing the project and its Python packages into .venv"
  "$PY" -m pip install -q --disable-pip-version-check --no-input -e "$top${extras:+[$extras]}" >&2 </dev/null ||
    fail "pip could not install the packages (its message stands above)"
  printf '%s\n' "$mark" >"$venv/installed-$extras"
}

set_up() {
  local extras=$1
  shift
  command -v python3 >/dev/null || fail "python3 is missing"
  python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
    fail "Python 3.11 or newer is needed; this is $(python3 -V)"
  python3 -c 'import ensurepip, venv' 2>/dev/null || set -- python3-venv "$@"
  install_packages "$@"
  make_venv
  install_project "$extras"
}
