# make demo     build the demo's report and print where it is, with its headline table
# make test     lint, formats, types, import directions, and all tests
# make verify   build the verification page and compare its numbers with the stored ones
# make bench    measure how time and memory grow, beside a peer: benchmarks/scaling.md
# make faults   disturb the workflow in every way and see whether it bears it: some hours
# make mutants  change the formulas at random and see whether the tests notice: some hours
# make audit    licences, insecure code, known vulnerabilities of the libraries
# make sbom     bill of materials (CycloneDX): results/sbom.json
# make licences list the libraries' licences: results/licences.md
# make coverage what the quick tests run of each module
# make clean    remove the environment and all results
#
# Each makes what it needs: system libraries (as root on Debian), the environment, the install.
# Another case: make demo CASE=cases/tube/case.yaml. Another Python: make demo PYTHON=python3.12.

CASE ?= cases/lander/case.yaml
RIGHT_PYTHON := import sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 13))
PYTHON ?= $(shell for python in python3 python3.13 python3.12 python3.11; do \
	"$$python" -c '$(RIGHT_PYTHON)' 2>/dev/null && echo "$$python" && break; done)

VENV := .venv
IN_VENV := PATH="$(CURDIR)/$(VENV)/bin:$$PATH"
RESULTS = results/$(notdir $(abspath $(dir $(CASE))))
INSTALL := $(VENV)/bin/python -m pip install -qq --disable-pip-version-check -c constraints.txt

# Tests draw without a screen, as the workflow's steps do.
export PYVISTA_OFF_SCREEN ?= true
export VTK_DEFAULT_OPENGL_WINDOW ?= vtkEGLRenderWindow
# Workers and jobs share the cores; a second level of threads in small products costs tenfold.
export OPENBLAS_NUM_THREADS ?= 1

.PHONY: demo test verify bench faults mutants audit sbom licences coverage clean environment test-environment

demo: $(VENV)/.installed
	@echo "Running the workflow on $(CASE)"
	@$(IN_VENV) snakemake --config case=$(CASE)
	@echo
	@$(IN_VENV) python -m post headline $(RESULTS)/summary.json
	@echo
	@echo "Report: $(CURDIR)/$(RESULTS)/report.html"

test: $(VENV)/.installed-for-tests
	@$(IN_VENV) ruff check .
	@$(IN_VENV) ruff format --check .
	@$(IN_VENV) snakefmt --check Snakefile
	@$(IN_VENV) snakemake --lint
	@$(IN_VENV) lint-imports --no-logo
	@$(IN_VENV) mypy
	@$(IN_VENV) python -m pytest -n auto

verify: $(VENV)/.installed
	@$(IN_VENV) snakemake verify
	@$(IN_VENV) python -m post compare_verification benchmarks/verification.csv \
		results/verification/verification.csv
	@echo "Verification page: $(CURDIR)/results/verification/verification.html"

bench: $(VENV)/.installed-for-tests
	@$(IN_VENV) python -m benchmarks.scaling > benchmarks/scaling.md

faults: $(VENV)/.installed
	@$(IN_VENV) python tools/faults.py --kills 100 all
	@$(IN_VENV) python tools/kill_study.py
	@$(IN_VENV) python tools/kill_study.py --workers 10 --points 180 --batch 60

mutants: $(VENV)/.installed-for-mutants
	@mkdir -p results
	@$(IN_VENV) nice python -m tests.mutants > results/mutants.jsonl
	@echo "Mutants: $(CURDIR)/results/mutants.jsonl"

audit: $(VENV)/.installed-for-audit
	@$(IN_VENV) python tools/audit.py --vulnerabilities

sbom: $(VENV)/.installed-for-audit
	@mkdir -p results
	@$(IN_VENV) cyclonedx-py environment --pyproject pyproject.toml --output-reproducible \
		--output-format JSON --output-file results/sbom.json $(VENV)/bin/python
	@echo "Bill of materials: $(CURDIR)/results/sbom.json"

licences: $(VENV)/.installed-for-audit
	@mkdir -p results
	@$(IN_VENV) python tools/licences.py results/licences.md
	@echo "List: $(CURDIR)/results/licences.md"

coverage: $(VENV)/.installed-for-audit
	@$(IN_VENV) python -m pytest -n auto -m 'not slow' --cov --cov-report=term:skip-covered

clean:
	rm -rf $(VENV) results .snakemake *.egg-info

environment: $(VENV)/.installed
test-environment: $(VENV)/.installed-for-tests

$(VENV)/.installed: pyproject.toml constraints.txt
	@test -n "$(PYTHON)" || { echo "No Python 3.11 to 3.13 found. Install: apt-get install python3" >&2; exit 1; }
	@$(PYTHON) -c '$(RIGHT_PYTHON)' || { echo "$(PYTHON) is not Python 3.11 to 3.13: say PYTHON=... with one that is" >&2; exit 1; }
	@$(PYTHON) tools/system_libraries.py
	@echo "Installing into $(VENV) (some minutes the first time)"
	@test -x $(VENV)/bin/pip || $(PYTHON) -m venv $(VENV)
	@$(INSTALL) -e .
	@touch $@

$(VENV)/.installed-for-audit: $(VENV)/.installed-for-tests
	@$(INSTALL) -e '.[audit]'
	@touch $@

$(VENV)/.installed-for-mutants: $(VENV)/.installed-for-tests
	@$(INSTALL) -e '.[mutants]'
	@touch $@

$(VENV)/.installed-for-tests: $(VENV)/.installed
	@echo "Installing the test tools into $(VENV)"
	@$(INSTALL) -e '.[cluster,test]'
	@touch $@
