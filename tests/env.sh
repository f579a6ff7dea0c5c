# Makes the tests' environment; sourced by tests/run and .ci/check from the project's folder.
# Sets ENV to it. What could not be had is named, and under CI=true is an error.

python=${PYTHON:-python3}
if ! "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
  echo "fleetcare needs Python 3.11 or later; PYTHON names another one" >&2
  exit 1
fi

missing=()
while read -r package program; do
  case $package in '' | '#'*) continue ;; esac
  command -v "${program:-$package}" >/dev/null || missing+=("$package")
done <tests/debian.txt
if [ ${#missing[@]} -gt 0 ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  apt-get update -qq >&2 && apt-get install -y -qq --no-install-recommends "${missing[@]}" >&2 &&
    missing=()
fi
if [ ${#missing[@]} -gt 0 ]; then
  echo "left out, for want of: ${missing[*]} (Debian packages; tests/debian.txt)" >&2
  if [ "${CI:-}" = true ]; then exit 1; fi
fi

ENV=$PWD/.venv-tests
stamp=$("$python" -V; cksum pyproject.toml)
if [ ! -x "$ENV/bin/python" ] || [ "$(cat "$ENV/made-for" 2>/dev/null)" != "$stamp" ]; then
  rm -rf "$ENV"
  "$python" -m venv "$ENV"
  "$ENV/bin/python" -m pip install --quiet --disable-pip-version-check -e '.[tests]'
  printf '%s\n' "$stamp" >"$ENV/made-for"
fi
