# Everything runs from a fresh Debian machine that has only python3 (3.11 or newer), make and ca-certificates.
PY ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install -q --disable-pip-version-check --require-hashes --only-binary :all:
COMPILE := uv pip compile -q --universal --python-version 3.11 --fork-strategy fewest --generate-hashes --no-header --no-annotate
# Installs the Debian package $(1) as root or with sudo; fails with a word about it otherwise.
define apt_install
if [ "$$(id -u)" = 0 ]; then apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $(1) >/dev/null; \
elif command -v sudo >/dev/null; then sudo apt-get update -qq && sudo apt-get install -y -qq $(1) >/dev/null; \
else echo "$(1) is missing and this user cannot install it: run 'apt-get install $(1)' as root, then make again" >&2; false; fi
endef

.PHONY: help setup demo test bench figures screens lint docs drawings lock clean

help: ## list the targets
	@sed -n 's/^\([a-z]*\):.*## /\1\t/p' Makefile

setup: $(VENV)/.ok ## make .venv with what weldworth needs to run

demo: $(VENV)/.ok ## weigh the demo dossiers
	@$(BIN)/weldworth demo

test: lint ## lint, then every test
	$(BIN)/python -m pytest -q -n 2

lint: $(VENV)/.ok-dev ## style, format, import contracts, types
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports
	$(BIN)/mypy

bench: $(VENV)/.ok-dev ## print the speed ratios
	$(BIN)/python tools/bench.py

figures: $(VENV)/.ok-dev ## recompute docs/figures.md and docs/figures.json
	$(BIN)/python tools/figures.py

screens: $(VENV)/.ok-dev ## take the screenshots of docs/screens (needs chromium)
	$(BIN)/python tools/screens.py

docs: $(VENV)/.ok-dev ## write the generated pages of docs/
	$(BIN)/python tools/docs.py

drawings: .venv-drawings/.ok ## rebuild the body drawings (checked in; needs a few minutes)
	.venv-drawings/bin/python drawings/build.py

lock: ## renew the lock files (needs uv); they hold hashes and no addresses
	$(COMPILE) pyproject.toml -o requirements.lock
	$(COMPILE) --extra dev pyproject.toml -o requirements-dev.lock
	@! grep -n '://' requirements.lock requirements-dev.lock

clean: ## remove .venv, caches and build
	rm -rf $(VENV) build .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis
	find src tests tools -name __pycache__ -type d -prune -exec rm -rf {} +

# The virtual environment counts as there once pip answers: Debian's python3 has no ensurepip until python3-venv is in.
$(VENV)/.pip:
	@$(PY) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "weldworth needs Python 3.11 or newer; set PY=" >&2; exit 1; }
	@$(PY) -m venv $(VENV) >/dev/null 2>&1 || { rm -rf $(VENV); echo "python3-venv is missing: installing it"; \
	  $(call apt_install,python3-venv) && $(PY) -m venv $(VENV); }
	@touch $@

$(VENV)/.ok: requirements.lock | $(VENV)/.pip
	$(PIP) -r requirements.lock
	@echo "$(CURDIR)/src" > "$$($(BIN)/python -c 'import sysconfig; print(sysconfig.get_path("purelib"))')/weldworth.pth"
	@printf '#!%s\nfrom weldworth.cli.main import app; app()\n' "$(CURDIR)/$(BIN)/python" > $(BIN)/weldworth
	@chmod +x $(BIN)/weldworth
	@touch $@

# pyAgrum, the independent engine that the tests compare with, wants libgomp from the system.
$(VENV)/.ok-dev: requirements-dev.lock $(VENV)/.ok
	$(PIP) -r requirements-dev.lock
	@$(BIN)/python -c 'import pyagrum' 2>/dev/null || { echo "libgomp1 is missing: installing it"; $(call apt_install,libgomp1); } \
	  || echo "WARNING: without libgomp1 the comparisons with pyAgrum are skipped" >&2
	@touch $@

# Building the drawings needs libraries that nothing else needs; the drawings themselves are part of the package.
.venv-drawings/.ok: drawings/requirements.txt
	$(PY) -m venv .venv-drawings
	.venv-drawings/bin/python -m pip install -q --disable-pip-version-check -r drawings/requirements.txt
	@touch $@
