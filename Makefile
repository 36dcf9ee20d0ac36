# make site     builds the course into site/, to look at: nothing of it goes on record
# make publish  the same for a course of your own: what students will see, kept on record
# make test     checks style and types and runs every test
#
# All set up what they need in .venv, once: again only when pyproject.toml or the versions in
# requirements.txt, requirements-test.txt or the lock of npm have changed. Needed beforehand:
# Python 3.11 or later, a package index for pip and, for tests, one for npm.

PYTHON ?= $(shell for python in python3 python3.14 python3.13 python3.12 python3.11; do \
	if $$python -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; \
	then echo $$python; break; fi; done)
BIN := .venv/bin
TYPES := tests/browser/types
INSTALL := $(BIN)/python -m pip install --quiet --disable-pip-version-check

export NO_MKDOCS_2_WARNING := 1

.PHONY: site publish test

site: .venv/.ready
	$(BIN)/mkdocs build --strict --quiet

publish: .venv/.ready
	$(BIN)/fallwork publish

test: .venv/.ready-for-tests
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy
	chromium="$$($(BIN)/python tests/browser/chromium.py)" && \
	FALLWORK_CHROMIUM="$$chromium" $(BIN)/pytest --numprocesses=2

.venv/.ready: pyproject.toml requirements.txt | .venv/bin/python
	$(INSTALL) --require-hashes --requirement requirements.txt
	$(INSTALL) --no-deps --no-build-isolation --editable .
	touch $@

.venv/.ready-for-tests: .venv/.ready requirements-test.txt $(TYPES)/package-lock.json
	$(INSTALL) --require-hashes --requirement requirements-test.txt
	PATH="$(CURDIR)/$(BIN):$$PATH" npm ci --prefix $(TYPES) --ignore-scripts --no-audit --loglevel=error
	touch $@

.venv/bin/python:
	@test -n "$(PYTHON)" || { echo "Python 3.11 or later is needed; none was found" >&2; exit 1; }
	$(PYTHON) -m venv .venv || { rm -rf .venv; test "$$(id -u)" = 0 && \
		apt-get update && apt-get install --yes python3-venv && $(PYTHON) -m venv .venv; }
