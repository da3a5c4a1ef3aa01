# Targets, a line each: run `make` alone to list them.

PYTHON ?= python3
BIND ?= 127.0.0.1:8000
DEMO_SERVE ?= 1
PYTEST_ARGS ?=
BENCH_ARGS ?=

BIN := .venv/bin
PY := $(BIN)/python
PIP := $(PY) -m pip --disable-pip-version-check install --quiet --require-hashes
STAMP := .venv/.runs
DEV_STAMP := .venv/.develops
DEMO := var/demo
OWN := var/own

# What a folder of records needs to be served: its place, its secret, its address.
IN_DEMO = ROOFREG_DATA_DIR=$(DEMO) ROOFREG_SITE_URL=http://$(BIND) \
	ROOFREG_SECRET_KEY="$$(cat $(DEMO)/secret-key)"
IN_OWN = ROOFREG_DATA_DIR=$(OWN) ROOFREG_SITE_URL=http://$(BIND) \
	ROOFREG_SECRET_KEY="$$(cat $(OWN)/secret-key)"
IN_DEBUG = ROOFREG_DEBUG=1

.DEFAULT_GOAL := help
.PHONY: help demo demo-reset run test check format drills browser bench openapi lock

help: ## list these targets
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 14

demo: $(STAMP) $(DEMO)/secret-key ## an invented fleet, served at once (data under var/demo)
	@$(IN_DEMO) $(PY) manage.py collectstatic --noinput --verbosity 0
	@$(IN_DEMO) $(PY) manage.py migrate --verbosity 0
	@$(IN_DEMO) $(PY) manage.py make_demo
	@test -e $(DEMO)/signing-key || $(IN_DEMO) $(PY) manage.py checkpoint --make-key
	@test "$(DEMO_SERVE)" = 0 || { $(IN_DEMO); export ROOFREG_DATA_DIR ROOFREG_SITE_URL \
		ROOFREG_SECRET_KEY; exec $(PY) manage.py serve --bind $(BIND); }

demo-reset: ## remove the invented fleet
	rm -rf $(DEMO)

run: $(STAMP) $(OWN)/secret-key ## your own records, served (data under var/own)
	@$(IN_OWN) $(PY) manage.py collectstatic --noinput --verbosity 0
	@$(IN_OWN) $(PY) manage.py migrate --verbosity 0
	@test -e $(OWN)/signing-key || $(IN_OWN) $(PY) manage.py checkpoint --make-key
	@$(IN_OWN); export ROOFREG_DATA_DIR ROOFREG_SITE_URL ROOFREG_SECRET_KEY; \
		exec $(PY) manage.py serve --bind $(BIND)

test: $(DEV_STAMP) ## everything that this machine can test
	$(IN_DEBUG) $(PY) -m pytest -n auto --dist loadfile $(PYTEST_ARGS)

check: $(DEV_STAMP) ## format, lint, types, imports, migrations, what must not be committed
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports --no-cache
	$(IN_DEBUG) $(PY) manage.py makemigrations --check --dry-run
	@! ls fleet/migrations warranty/migrations jobs/migrations | grep '_auto' \
		|| { echo "Give the migration above a name that says what it does."; exit 1; }
	@! grep -n '://' requirements.txt requirements-dev.txt requirements-scaled.txt \
		|| { echo "A lock file must not name an address."; exit 1; }
	@git -c safe.directory=$(CURDIR) grep -nIE \
		'p[y]pi\.org|p[y]thonhosted|npm[j]s\.org|(^|[^a-z.])/(w[o]rk|r[o]ot|h[o]me)/[a-z]'; \
		test $$? = 1 || { echo "No registry host or path of one machine in a tracked file."; exit 1; }

format: $(DEV_STAMP) ## format the code and sort its imports
	$(BIN)/ruff check --fix --select I .
	$(BIN)/ruff format .

drills: $(DEV_STAMP) ## kill, freeze, flush and race real processes
	$(IN_DEBUG) FIELD_SYNC_HISTORIES=2000 $(PY) -m pytest tests/drills $(PYTEST_ARGS)

browser: $(DEV_STAMP) ## the pages in Chromium, on a phone's screen too
	$(IN_DEBUG) $(PY) -m pytest -m browser $(PYTEST_ARGS)

bench: $(DEV_STAMP) ## figures, each beside its ceiling (BENCH_ARGS=--short)
	$(IN_DEBUG) $(PY) -m tests.bench.run $(BENCH_ARGS)

openapi: $(DEV_STAMP) ## write config/openapi.json anew from the code that answers
	$(IN_DEBUG) $(PY) manage.py spectacular --fail-on-warn --format openapi-json \
		--file config/openapi.json

lock: $(DEV_STAMP) ## resolve the dependencies again, with hashes
	UV_CUSTOM_COMPILE_COMMAND="make lock" $(BIN)/uv pip compile --quiet --universal --python-version 3.11 \
		--generate-hashes --no-annotate --output-file requirements.txt pyproject.toml
	UV_CUSTOM_COMPILE_COMMAND="make lock" $(BIN)/uv pip compile --quiet --universal --python-version 3.11 \
		--generate-hashes --no-annotate --group dev --extra heif --extra routes --extra s3 \
		--output-file requirements-dev.txt pyproject.toml
	UV_CUSTOM_COMPILE_COMMAND="make lock" $(BIN)/uv pip compile --quiet --universal --python-version 3.11 \
		--generate-hashes --no-annotate --extra heif --extra routes --extra s3 \
		--output-file requirements-scaled.txt pyproject.toml

$(PY):
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
		|| { echo "Python 3.11 or newer is needed: make PYTHON=/path/to/python3.11 ..."; exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null \
		|| { echo "This Python has no venv module: install python3-venv (Debian, Ubuntu)."; exit 1; }
	$(PYTHON) -m venv .venv

$(STAMP): requirements.txt | $(PY)
	$(PIP) --requirement requirements.txt
	@touch $@

$(DEV_STAMP): requirements-dev.txt | $(PY)
	$(PIP) --requirement requirements-dev.txt
	@touch $@ $(STAMP)

%/secret-key: | $(PY)
	@mkdir -p $(@D)
	@umask 077 && $(PY) -c 'import secrets; print(secrets.token_urlsafe(48))' > $@
