#!/bin/sh
# Makes .venv at the repository's top with the tools that tests compare with. Run again at will.
set -eu
cd "$(dirname "$0")/../.."
test -x .venv/bin/python || python3 -m venv .venv
.venv/bin/python -m pip install --quiet --disable-pip-version-check -r tests/reference/requirements.txt
echo "tests/reference: ready"
