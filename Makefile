# Needs python3.11 (or a python3 of 3.11 or later), make and the package registry; everything goes into .venv.

PYTHON ?= $(shell command -v python3.11 || command -v python3)
BIN := .venv/bin
STAMP := .venv/.ready

.PHONY: setup lint types test test-all bench figures validation demo clean

setup: $(STAMP)

# Rebuilt only when the dependencies change.
$(STAMP): pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "make setup needs Python 3.11 or later; set PYTHON=/path/to/it" >&2; exit 2; }
	test -x $(BIN)/python || $(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[dev]'
	touch $@

lint: $(STAMP)
	$(BIN)/ruff check .

types: $(STAMP)
	$(BIN)/mypy

test: $(STAMP)
	$(BIN)/python -m pytest -m 'not slow' -n auto

test-all: $(STAMP)
	$(BIN)/python -m pytest -n auto

bench: $(STAMP)
	$(BIN)/python -m experiments.bench

figures: $(STAMP)
	set -e; for script in figures/*.py; do $(BIN)/python "$$script"; done

validation: $(STAMP)
	$(BIN)/python -m experiments.validation.run

demo: $(STAMP)
	$(BIN)/rampwalk demo --out demo-out

clean:
	rm -rf .venv .mypy_cache .pytest_cache .ruff_cache .hypothesis dist demo-out
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
