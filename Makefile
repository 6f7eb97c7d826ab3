# Needs Python 3.11 or newer and make; everything else is fetched into .venv.
SHELL := /bin/sh
VENV := .venv
PY := $(VENV)/bin/python
MANAGE := $(PY) manage.py
NEW_ENOUGH := import sys; sys.exit(sys.version_info < (3, 11))

.DEFAULT_GOAL := help
.PHONY: help setup setup-tests demo run kernels test test-long coverage mutants check bench lock

help: ## list what make can do here
	@grep -hE '^[a-z-]+:.*##' Makefile | sed -E 's/:.*## /\t/'

FIND_PYTHON = for python in $(PY) "$${PYTHON:-python3}" python3.14 python3.13 python3.12 python3.11 ""; do \
	if "$$python" -c '$(NEW_ENOUGH)' 2>/dev/null; then break; fi; done; \
	if [ -z "$$python" ]; then \
	    echo "Python 3.11 or newer is needed; found: $$(python3 --version 2>&1 || true)." >&2; \
	    echo "Install one, or name it: make setup PYTHON=/path/to/python3" >&2; exit 1; \
	fi

setup: ## make .venv and install what the app needs, when the lock changed
	@$(FIND_PYTHON); "$$python" -m buildlog.install

setup-tests: ## the same with all that the tests need, a browser and a database server included
	@$(FIND_PYTHON); "$$python" -m buildlog.install --tests
	@sh tests/machine.sh $(PY)

demo: setup ## load the demo build, if none is there, and serve it on this network
	@$(MANAGE) demo --serve

run: setup ## serve the app with the data that is there
	@$(MANAGE) run

CHECKS := check-style check-types check-app check-house
.PHONY: $(CHECKS)
check: setup-tests ## style of code and templates, types, settings, forgotten migrations, imports inside the core
	@$(MAKE) --no-print-directory -j 2 $(CHECKS)

check-style:
	$(VENV)/bin/ruff check
	$(VENV)/bin/ruff format --check
	$(VENV)/bin/djhtml --check --tabwidth 2 templates

check-types:
	$(VENV)/bin/mypy

check-app:
	$(MANAGE) check --settings tests.settings --database default --fail-level WARNING
	$(MANAGE) makemigrations --settings tests.settings --check --dry-run

check-house:
	$(PY) -m tests.house
	$(PY) -m tests.dead_code

kernels: setup-tests ## compile the trials for the tests, where something that is compiled changed
	@$(PY) -m tests.kernels

# Bytecode is kept even where the environment forbids it: every process of the tests would compile app and tests anew.
test test-long: export PYTHONDONTWRITEBYTECODE :=
# Handed out few at a time: otherwise nearly all that drive a browser are one process's, and the others wait for it.
SHARED := -n 3 --maxschedchunk 10
ON_POSTGRES := database and not browser and not screen
test: setup-tests ## all but what takes long: on SQLite, then what the database matters to on PostgreSQL
	@$(MAKE) --no-print-directory -j 2 kernels $(CHECKS)
	$(PY) -m pytest $(SHARED) -m "not long"
	$(PY) tests/postgres.py $(PY) -m pytest $(SHARED) -m "$(ON_POSTGRES) and not long"

test-long: kernels ## what takes long, on both databases; with make test before a release
	$(PY) -m pytest -n 2 -m long
	$(PY) tests/postgres.py $(PY) -m pytest -n 2 -m "$(ON_POSTGRES) and long"
	@$(MAKE) --no-print-directory coverage mutants

coverage: kernels ## how much of the core tests/core runs; fails below 95 % of branches
	$(PY) -m tests.core_coverage

SEED = 1
mutants: setup-tests ## 30 small faults put into copies of the core, which tests/core must find; SEED=2 draws others
	$(PY) -m tests.mutants --seed $(SEED)

bench: setup-tests ## print the figures that the README quotes
	@$(PY) -m tests.bench

UV = $(VENV)/bin/uv pip compile --quiet --universal --generate-hashes --python-version 3.11 \
	--no-annotate --no-emit-index-url --no-emit-find-links --custom-compile-command "make lock"
lock: setup-tests ## pin the newest versions that pyproject.toml allows, and ask whether any is known to be unsafe
	$(PY) -m pip install --quiet uv pip-audit
	$(UV) --upgrade pyproject.toml -o requirements.lock
	$(UV) --upgrade pyproject.toml --group test -c requirements.lock -o tests/requirements.lock
	$(PY) -m tests.lock_audit tests/requirements.lock  # holds all of requirements.lock too
