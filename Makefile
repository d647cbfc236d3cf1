# Two commands: `make demo` and `make test`. Each does all its own set-up.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
export OPENBLAS_NUM_THREADS ?= 1
export OMP_NUM_THREADS ?= 1

.PHONY: help demo test test-slow check bench bench-page docs schema clean

help:
	@echo "make demo   start a project from the shipped example and check it"
	@echo "make test   lint, types, import directions, tests (make test-slow: long sweeps)"
	@echo "make check  lint and types only"
	@echo "make bench  speeds, as ratios side by side in one run"
	@echo "make docs   the site in docs/site"
	@echo "make dist   wheel and sdist in dist/, each installed and run in an environment of its own"

$(VENV)/installed: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --upgrade pip
	$(BIN)/pip install --quiet --editable '.[dev]'
	@touch $@

$(VENV)/installed-demo: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --upgrade pip
	$(BIN)/pip install --quiet --editable '.[all]'
	@touch $@

demo: $(VENV)/installed-demo
	rm -rf build/demo
	$(BIN)/heatproof new build/demo
	$(BIN)/heatproof check build/demo || test $$? -eq 1  # 1: the verdict is that a limit does not hold

test: $(VENV)/installed check
	$(BIN)/python -m pytest -n 2 --dist loadfile -m 'not slow'

# Long sweeps: 500 variations of the example, searches against enumeration.
test-slow: $(VENV)/installed
	$(BIN)/python -m pytest -m slow

check: $(VENV)/installed
	$(BIN)/ruff check src tests bench examples
	$(BIN)/ruff format --check src tests bench examples
	$(BIN)/mypy

bench: $(VENV)/installed
	$(BIN)/python -m bench

# The same, kept for docs/performance.md; on a machine that does nothing else (about a quarter of an hour).
bench-page: $(VENV)/installed
	$(BIN)/python -m bench --write docs/performance-figures.md

# A release: set the version in src/heatproof/_version.py and CITATION.cff, head the changelog with it, `make test test-slow dist`,
# tag. Needs no secret: what is in dist/ is what would be handed to an index.
.PHONY: dist
dist:
	rm -rf dist build/dist
	$(PYTHON) -m venv build/dist/builder
	build/dist/builder/bin/pip install --quiet --upgrade pip build
	build/dist/builder/bin/python -m build --outdir dist .
	set -e; for package in dist/*.whl dist/*.tar.gz; do \
	    rm -rf build/dist/fresh; $(PYTHON) -m venv build/dist/fresh; \
	    build/dist/fresh/bin/pip install --quiet --upgrade pip; \
	    build/dist/fresh/bin/pip install --quiet "$$package"; \
	    (cd build/dist && fresh/bin/python $(CURDIR)/tests/packaging/installed.py $(CURDIR)) ; \
	done

clean:
	rm -rf build dist $(VENV)

# The page: built output is committed, so that a machine without node runs; these are for those who change it.
.PHONY: web web-check shots
web:
	cd web && npm ci --no-audit --no-fund && npm run build && npm test

# Rebuilds and fails where the committed output is not what the sources give.
web-check: web
	git diff --exit-code --stat -- src/heatproof/doors/page/static
	test -z "$$(git status --porcelain -- src/heatproof/doors/page/static)"

# The site: pages of the reference are made from the code, links within are checked; `make docs-links` asks others too.
.PHONY: docs-links
docs: $(VENV)/installed
	$(BIN)/python -m sphinx -b html -q -W --keep-going docs docs/site

# The page of checks is committed; a test asks that it is what the checks give.
.PHONY: validation
validation: $(VENV)/installed
	$(BIN)/python tests/published/validation_page.py

# Ten drives of a real car beside the model (some minutes).
.PHONY: real-cars
real-cars: $(VENV)/installed
	$(BIN)/python docs/real_cars.py

# The tables of trends are committed; a test asks that they are what runs give.
.PHONY: practice
practice: $(VENV)/installed
	$(BIN)/python tests/assembly/practice_page.py

# The drawing of the rooms is committed; a test asks that it is what the imports give.
.PHONY: rooms
rooms: $(VENV)/installed
	$(BIN)/python docs/rooms.py

docs-links: $(VENV)/installed
	$(BIN)/python -m sphinx -b linkcheck -q docs docs/site/links

shots: $(VENV)/installed
	$(BIN)/python -m bench.page_shots docs/shots
