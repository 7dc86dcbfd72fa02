# The whole workflow. Every target makes what it needs first, in .venv.
#
#   make demo     show Tellback at work on the example type
#   make test     run the tests
#   make golden   write anew what the command line is expected to print; look at what changed
#   make docs     write anew the outputs shown in the documents
#   make bench    measure
#   make check    formatting, lint and types
#   make format   put formatting and import order right
#   make lock     work out requirements.lock anew from pyproject.toml
#   make clean    remove everything that was made here

VENV := .venv
PYTHON := $(VENV)/bin/python
READY := $(VENV)/.ready
UV := $(VENV)/lock-tool/bin/uv
PIP_QUIETLY := -m pip install --quiet --disable-pip-version-check

.PHONY: demo test golden docs bench check format lock clean
.DELETE_ON_ERROR:

demo: $(READY)
	$(VENV)/bin/tellback demo

test: $(READY)
	$(PYTHON) -m pytest -n 2

golden: $(READY)
	$(PYTHON) -m tests.golden_cases

docs: $(READY)
	$(PYTHON) -m tests.docs.update

bench: $(READY)
	$(PYTHON) -m benchmarks

check: $(READY)
	$(PYTHON) -m ruff format --check .
	$(PYTHON) -m ruff check .
	$(PYTHON) -m mypy

format: $(READY)
	$(PYTHON) -m ruff check --fix-only --select I .
	$(PYTHON) -m ruff format .

# One lock for every supported Python and system; pins that still fit are kept.
# To take newer releases, remove requirements.lock first.
lock: $(UV)
	$(UV) pip compile pyproject.toml --extra draw --group dev --universal --python-version 3.11 \
		--generate-hashes --custom-compile-command "make lock" --quiet \
		--output-file requirements.lock

clean:
	rm -rf $(VENV) dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

# Installing the project itself needs no download: its build tool is in the lock.
$(READY): requirements.lock pyproject.toml scripts/make-venv
	scripts/make-venv $(VENV)
	$(PYTHON) $(PIP_QUIETLY) --require-hashes --requirement requirements.lock
	$(PYTHON) $(PIP_QUIETLY) --no-deps --no-build-isolation --editable .
	touch $@

# Apart from the project's packages, and without $(READY): there may be no lock yet.
$(UV):
	scripts/make-venv $(VENV)
	$(PYTHON) -m venv --without-pip $(VENV)/lock-tool
	$(PYTHON) -m pip --python $(VENV)/lock-tool/bin/python install --quiet uv==0.13.9
