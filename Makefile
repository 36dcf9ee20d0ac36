# make site     builds the course into site/, to look at: nothing of it goes on record
# make publish  the same for a course of your own: what students will see, kept on record
# make test     checks style and types and runs every test; with VERSIONS=oldest or VERSIONS=newest
#               on the oldest or newest versions of other packages that pyproject.toml allows
#
# All set up what they need in .venv, once: again only when pyproject.toml or the versions in
# requirements.txt, requirements-test.txt or the lock of npm have changed. Needed beforehand:
# Python 3.11 or later, a package index for pip and, for tests, one for npm.

PYTHON ?= $(shell for python in python3 python3.14 python3.13 python3.12 python3.11; do \
	if $$python -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; \
	then echo $$python; break; fi; done)
VERSIONS := pinned
VENV := .venv$(filter-out -pinned,-$(VERSIONS))
BIN := $(VENV)/bin
TYPES := tests/browser/types
INSTALL := $(BIN)/python -m pip install --quiet --disable-pip-version-check

OTHERWISE-oldest = $(INSTALL) --require-hashes --no-deps --requirement requirements-oldest.txt
OTHERWISE-newest = $(INSTALL) --upgrade --upgrade-strategy eager --editable .[test]

export NO_MKDOCS_2_WARNING := 1

.PHONY: site publish test style

site: $(VENV)/.ready
	$(BIN)/mkdocs build --strict --quiet

publish: $(VENV)/.ready
	$(BIN)/fallwork publish

test: $(if $(filter pinned,$(VERSIONS)),style) $(VENV)/.ready-for-tests
	chromium="$$($(BIN)/python tests/browser/chromium.py)" && \
	FALLWORK_CHROMIUM="$$chromium" $(BIN)/pytest --numprocesses=2

style: $(VENV)/.ready-for-tests
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy

$(VENV)/.ready: pyproject.toml requirements.txt | $(BIN)/python
	$(INSTALL) --require-hashes --requirement requirements.txt
	$(INSTALL) --no-deps --no-build-isolation --editable .
	touch $@

$(VENV)/.ready-for-tests: $(VENV)/.ready requirements-test.txt $(TYPES)/package-lock.json
	$(INSTALL) --require-hashes --requirement requirements-test.txt
	$(OTHERWISE-$(VERSIONS))
	PATH="$(CURDIR)/$(BIN):$$PATH" npm ci --prefix $(TYPES) --ignore-scripts --no-audit --loglevel=error
	touch $@

$(BIN)/python:
	@test -n "$(PYTHON)" || { echo "Python 3.11 or later is needed; none was found" >&2; exit 1; }
	$(PYTHON) -m venv $(VENV) || { rm -rf $(VENV); test "$$(id -u)" = 0 && \
		apt-get update && apt-get install --yes python3-venv && $(PYTHON) -m venv $(VENV); }
