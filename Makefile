# Ebbstock. `make help` lists what there is.
PYTHON ?= python3
BIN := .venv/bin
export OPENBLAS_NUM_THREADS ?= 1
PIP := $(BIN)/python -m pip --quiet --disable-pip-version-check
COMPILE := $(BIN)/uv pip compile --universal --generate-hashes --no-emit-index-url --quiet \
  --no-emit-find-links --custom-compile-command "make lock" $(LOCK_ARGS)

.DEFAULT_GOAL := help
.PHONY: help setup run test test-tools lint fmt bench pictures lock clean

help:  ## list the commands
	@grep -E '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 14

.venv/.run-ready: requirements.txt pyproject.toml
	@echo "Installing what Ebbstock needs into .venv ..."
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Python 3.11 or newer is needed; set PYTHON=/path/to/python3.11 or install it."; exit 1; }
	@$(PYTHON) -m venv .venv || \
	  { echo "Python's venv module is missing; on Debian: apt-get install python3-venv"; exit 1; }
	@$(PIP) install --require-hashes -r requirements.txt
	@$(PIP) install --no-deps --no-build-isolation -e .
	@awk '/^[a-z]/ { keep = /^(numba|llvmlite)==/ } keep' requirements-dev.txt > .venv/compiled.txt
	@$(PIP) install --require-hashes --no-deps --only-binary :all: -r .venv/compiled.txt || \
	  echo "There is no numba for this machine: plans are the same, but take longer to make."
	@echo "Preparing the planner, once ..."
	@$(BIN)/ebbstock plan seed_scenarios/chest_every_other_day.toml > .venv/first-plan.txt
	@touch $@

.venv/.dev-ready: requirements-dev.txt .venv/.run-ready
	@echo "Installing what the tests need into .venv ..."
	@$(PIP) install --require-hashes -r requirements-dev.txt
	@touch $@

setup: .venv/.run-ready  ## install; the command is then at .venv/bin/ebbstock

run: .venv/.run-ready  ## load the demo and serve it; HOST=0.0.0.0 PORT=9000 move it
	@$(BIN)/ebbstock demo $(if $(HOST),--host "$(HOST)") $(if $(PORT),--port "$(PORT)")

test: .venv/.dev-ready  ## install what the tests need and run them all
	@sh tests/suites/bring.sh quiet
	@$(BIN)/python -m pytest -n auto --maxprocesses=4 --dist=loadfile --no-loadscope-reorder \
	  $(PYTEST_ARGS)

test-tools:  ## bring browser, PostgreSQL and calendar programs for the tests (as root)
	@sh tests/suites/bring.sh loud

lint: .venv/.dev-ready  ## style, types and import direction
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports

fmt: .venv/.dev-ready  ## format the code
	@$(BIN)/ruff format .
	@$(BIN)/ruff check --fix --quiet .

pictures: .venv/.dev-ready  ## make the README's pictures from the demo (needs the browser)
	@$(BIN)/python tests/pictures/make_pictures.py

bench: .venv/.dev-ready  ## measure; ratios in one run
	@$(BIN)/python -m pytest tests/benchmarks -s -q -p no:cacheprovider --override-ini addopts="--import-mode=importlib"

lock: .venv/.run-ready  ## renew the lock files; LOCK_ARGS=--upgrade moves every version
	@$(PIP) install uv
	$(COMPILE) --group pyproject.toml:build -o requirements.txt pyproject.toml
	$(COMPILE) --group pyproject.toml:build --group pyproject.toml:dev -c requirements.txt \
	  -o requirements-dev.txt pyproject.toml

clean:  ## remove what was installed and cached; the data stay
	rm -rf .venv build *.egg-info tests/browser/node_modules tests/calendars/node_modules
	rm -rf .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
