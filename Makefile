# The commands of this project; CI and the commit hooks call these and nothing else.
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
.PHONY: help setup run demo test lint types audit bench docs pictures lock

PYTHON ?= python3
BIN := .venv/bin
READY := .venv/ready
SOURCES := deploy workers tracker schemas shared tests

help:  ## Show these lines
	@sed -n 's/^\([a-z]*\):.*  ## \(.*\)/  make \1|\2/p' $(firstword $(MAKEFILE_LIST)) \
		| awk -F'|' '{ printf "%-14s %s\n", $$1, $$2 }'

setup: $(READY)  ## Make the virtual environment in .venv; does nothing when it is up to date

# Locked packages first, checked by digest; then the tree itself, which fetches nothing.
$(READY): requirements.lock pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or later is needed; set PYTHON=")'
	$(PYTHON) -m venv .venv
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch $(READY)

run: $(READY)  ## Work through the demo day, then serve it at http://127.0.0.1:8600
	$(BIN)/hardstand demo --serve

demo: $(READY)  ## Work through the demo day and stop
	$(BIN)/hardstand demo

test: $(READY)  ## Run all tests, on every processor; ARGS= goes to pytest
	$(BIN)/python -m deploy.browser >/dev/null
	$(BIN)/python -m pytest -n auto --dist worksteal -q $(ARGS)

lint: $(READY)  ## Check style, layout, import contracts and house rules
	$(BIN)/ruff check $(SOURCES)
	$(BIN)/ruff format --check $(SOURCES)
	$(BIN)/lint-imports
	$(BIN)/ast-grep scan --config .sgconfig.yml --error
	$(BIN)/ast-grep test --config .sgconfig.yml --skip-snapshot-tests

types: $(READY)  ## Check types
	$(BIN)/mypy

audit: $(READY)  ## Check the lock, and ask for known vulnerabilities; ARGS= goes to the command
	$(BIN)/python -m deploy.audit $(ARGS)

bench: $(READY)  ## Measure speed beside its yardsticks; ARGS= goes to the command
	$(BIN)/hardstand bench $(ARGS)

docs: $(READY)  ## Write the pages that are made from the code
	$(BIN)/python -m deploy.settings_page docs/settings.md

pictures: $(READY)  ## Take pictures of every page for the README; needs or installs Chromium
	$(BIN)/python -m deploy.screenshots docs/pictures

lock:  ## Bring the lock up to date with pyproject.toml; UPGRADE=1 takes newer packages
	$(PYTHON) -m venv .venv-lock
	.venv-lock/bin/pip install --quiet --disable-pip-version-check 'uv>=0.13'
	.venv-lock/bin/uv pip compile pyproject.toml --output-file requirements.lock --quiet \
		--universal --python-version 3.11 --all-extras --generate-hashes \
		--no-emit-index-url --no-header $(if $(UPGRADE),--upgrade)
	.venv-lock/bin/uv pip compile pyproject.toml --output-file requirements-run.lock --quiet \
		--universal --python-version 3.11 --extra build --generate-hashes \
		--constraint requirements.lock --no-emit-index-url --no-header --no-annotate
	rm -rf .venv-lock
