#!/bin/sh
# Makes the Python environment of the outside references: tests/reference/venv, or the folder given.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
venv=${1:-$here/venv}
python3 -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check --requirement "$here/requirements.txt"
echo "ready: $venv"
