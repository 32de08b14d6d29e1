# Everything a newcomer needs: `make demo` and `make test` create .venv themselves.
PY ?= python3
VENV := .venv
BIN := $(VENV)/bin
# What the program needs, and what its developers need beside it.
PROGRAM := $(VENV)/.program
STAMP := $(VENV)/.developer
SKIPS := $(VENV)/.skipped
# Many tests wait for a screen or a process: twice as many as there are cores, and at most eight.
WORKERS := $(shell n=$$(nproc); echo $$(( n > 4 ? 8 : n * 2 )))

# A test run starts hundreds of processes; without this each may have to compile the program again.
unexport PYTHONDONTWRITEBYTECODE

.PHONY: demo test lint soak mutate bench bench-browsing bench-catch-up bench-month bench-collecting bench-faults bench-hostile bench-keeping bench-laboratory bench-monkey bench-pacing bench-pacing-full bench-screen bundle fuzz laboratory lock pictures manual schema tables clean

demo: $(PROGRAM)
	@$(BIN)/ramphold demo

# Half a year of three invented benches, in a web browser.
laboratory: $(PROGRAM)
	@$(BIN)/python -c 'import datasette' 2>/dev/null || $(BIN)/python -m pip install -q --disable-pip-version-check --no-compile -e '.[browse]'
	@$(BIN)/ramphold demo --laboratory --folder dist/laboratory

# Those in tests/system wait most of their time, and measure some: they run after the others.
test: $(STAMP) lint
	@: > $(SKIPS)
	$(BIN)/python -m pytest -q -n $(WORKERS) --dist loadfile --no-loadscope-reorder --skips=$(SKIPS) --ignore tests/system
	$(BIN)/python -m pytest -q -n 3 --dist load --skips=$(SKIPS) tests/system
	@$(BIN)/python tests/support/skips.py $(SKIPS)

lint: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

# What a reading, a running bench, a start, a report, a full database and filing cost: one page, kept.
bench: $(STAMP)
	PYTHONPATH=tests $(BIN)/python tests/bench/costs.py

# Twenty seeds a target, about four minutes on two cores.
bench-pacing: $(STAMP)
	$(BIN)/python tests/bench/pacing.py

# What a run costs of the database, and the worksheet's questions with 100 000 specimens.
bench-keeping: $(STAMP)
	$(BIN)/python tests/bench/keeping.py

# Memory and handles of the daemon over a simulated month, a quarter of an hour.
bench-month: $(STAMP)
	$(BIN)/python tests/bench/month.py

# 20 000 keys, pastes and sizes that nobody would choose, on the real daemon; half an hour or so.
bench-monkey: $(STAMP)
	PYTHONPATH=tests $(BIN)/python tests/bench/monkey.py

# How soon the screen shows a reading and what it costs; --minutes N takes its memory instead.
bench-screen: $(STAMP)
	$(BIN)/python tests/bench/screen.py

# What can fail between a bench and the server, and at the press; what happened, how soon it was mended.
bench-faults: $(STAMP)
	$(BIN)/python tests/bench/faults.py
	$(BIN)/python tests/bench/press_faults.py
	$(BIN)/python tests/bench/press_faults.py --kills 200
	PYTHONPATH=tests $(BIN)/python tests/bench/rough_port.py

# Whether U covers and a stated probability is right, in a laboratory whose true values are known, and in one
# of which all is true that the model assumes.
bench-laboratory: $(STAMP)
	$(BIN)/python tests/bench/simulated_laboratory.py
	$(BIN)/python tests/bench/assumed_laboratory.py

# Two hundred hostile messages from a bench's account, and what happened to them; its table is kept.
bench-hostile: $(STAMP)
	$(BIN)/python tests/bench/hostile.py > tests/bench/hostile-table.txt
	@cat tests/bench/hostile-table.txt

# How soon each of the laboratory's pages is there, over 100 000 specimens; ten minutes at most.
bench-browsing: $(STAMP)
	mkdir -p dist/browsing
	PYTHONPATH=tests $(BIN)/python tests/bench/browsing.py dist/browsing

# The collector beside a bare loop from the broker into the same tables.
bench-collecting: $(STAMP)
	PYTHONPATH=tests $(BIN)/python tests/bench/collecting.py

# 10 000 runs of 20 benches while all of it is killed again and again; a quarter of an hour at most.
soak: $(STAMP)
	$(BIN)/python tests/bench/soak.py

# Every reader of bytes from outside, given valid ones with edits in them, for ten minutes.
fuzz: $(STAMP)
	PYTHONPATH=tests $(BIN)/python -m fuzz --seconds 600

# Two hundred wrong changes of the pure code and the store, and how many no test notices; half an hour.
mutate: $(STAMP)
	PYTHONPATH=tests $(BIN)/python -m mutate

# How soon a bench that was away for a month has caught up, and what memory that takes.
bench-catch-up: $(STAMP)
	$(BIN)/python tests/bench/catch_up.py

# A hundred seeds a case, on both presses, with a picture of the worst run of each; the table is kept.
bench-pacing-full: $(STAMP)
	$(BIN)/python tests/bench/pacing.py --seeds 100 --figures dist/pacing > tests/bench/pacing-table.txt
	@cat tests/bench/pacing-table.txt

# The pictures of README; look at each.
pictures: $(STAMP)
	$(BIN)/python tests/bench/readme_pictures.py tui/pictures

# Everything that systemd/install.sh needs without a network; copy the folder onto a stick.
bundle: $(PROGRAM)
	@systemd/bundle.sh $(BIN)/python dist/bundle

# The libraries of a bench, each by the hashes of its files. Look at the difference before keeping it.
LOCK := $(BIN)/uv pip compile -q --universal --fork-strategy fewest --python-version 3.11 --generate-hashes --no-annotate --no-header
lock: $(STAMP)
	$(BIN)/python -m pip install -q --disable-pip-version-check uv
	$(LOCK) --upgrade --extra pdf pyproject.toml -o systemd/locked.txt
	echo 'gpiod>=2.2' | $(LOCK) --upgrade - -o systemd/locked-gpio.txt

# What benches and the laboratory's server say to each other; a test holds it to the types.
schema: $(STAMP)
	$(BIN)/python -c 'import json; from ramphold.wire import schema; print(json.dumps(schema(), indent=1))' > logger/ramphold/wire/schema.json

# The manual page from the commands, README's keys from the screen; tests compare them.
manual: $(STAMP)
	PYTHONPATH=tests $(BIN)/python tests/support/manual.py
	PYTHONPATH=tests $(BIN)/python tests/support/key_table.py

# The tables of methods and topics in DEVELOPERS.md; a test compares them with the declarations.
tables: $(STAMP)
	PYTHONPATH=tests $(BIN)/python tests/support/method_tables.py

$(PROGRAM): pyproject.toml
	@$(PY) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Python 3.11 or newer is needed (set PY=...)"; exit 1; }
	@$(PY) -c 'import ensurepip' || { echo "Run: sudo apt-get install -y python3-venv"; exit 1; }
	@echo "Setting up $(VENV), once; this takes up to a minute."
	@$(PY) -m venv $(VENV)
	@# Python 3.11 adds setuptools, which nothing here uses.
	@$(BIN)/python -m pip uninstall -q -y setuptools 2>/dev/null
	@$(BIN)/python -m pip install -q --disable-pip-version-check --no-compile -e .
	@touch $@

$(STAMP): $(PROGRAM)
	@echo "Installing the developers' tools into $(VENV), once; this takes a minute or two."
	@$(BIN)/python -m pip install -q --disable-pip-version-check -e '.[dev]'
	@touch $@

clean:
	rm -rf $(VENV) dist
