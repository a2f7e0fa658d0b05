# Needs python3.11 (or a python3 of 3.11 or later), make and the package registry; everything goes into .venv.

PYTHON ?= $(shell command -v python3.11 || command -v python3)
BIN := .venv/bin
STAMP := .venv/.ready
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check

.PHONY: setup lint types test test-all matrix soak lock audit bench figures docs validation demo clean

setup: $(STAMP)

# Rebuilt only when the dependencies change.
$(STAMP): pyproject.toml requirements-dev.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "make setup needs Python 3.11 or later; set PYTHON=/path/to/it" >&2; exit 2; }
	test -x $(BIN)/python || $(PYTHON) -m venv .venv
	$(PIP) --constraint requirements-dev.txt --editable '.[dev]' || \
		{ echo "make setup: a version of requirements-dev.txt cannot be had here; taking what the ranges allow" >&2; \
		$(PIP) --editable '.[dev]'; }
	touch $@

lint: $(STAMP)
	$(BIN)/ruff check .

types: $(STAMP)
	$(BIN)/mypy

test: $(STAMP)
	$(BIN)/python -m pytest -m 'not slow' -n auto

test-all: $(STAMP)
	$(BIN)/python -m pytest -n auto

# Lowest and newest versions of what we depend on, with every Python found here; minutes each.
matrix: $(STAMP)
	$(BIN)/python -m tests.matrix.run

# 5,000 walks in one process.
soak: $(STAMP)
	$(BIN)/python -m experiments.soak

# Newest versions that the ranges allow, written down.
lock:
	$(PYTHON) -m tests.matrix.lock

# Known vulnerabilities of the locked versions; needs the advisory database of the package index.
audit: $(STAMP)
	$(PYTHON) -m venv .venv/audit
	.venv/audit/bin/python -m pip install --quiet --disable-pip-version-check pip-audit
	.venv/audit/bin/pip-audit --no-deps --requirement requirements-dev.txt

bench: $(STAMP)
	$(BIN)/python -m experiments.bench

figures: $(STAMP)
	set -e; for script in figures/*.py; do $(BIN)/python -m "figures.$$(basename "$$script" .py)"; done

# Pages and API as HTML in docs/_build; a warning is an error.
docs: $(STAMP)
	rm -rf docs/api/modules
	$(BIN)/python -m sphinx -W --keep-going -q -b html docs docs/_build

validation: $(STAMP)
	$(BIN)/python -m experiments.validation.run

demo: $(STAMP)
	$(BIN)/rampwalk demo --force --out demo-out

clean:
	rm -rf .venv .mypy_cache .pytest_cache .ruff_cache .hypothesis dist demo-out
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
