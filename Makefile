# Each target is what a person could type by hand. `make test` is all that has to hold.
CARGO ?= cargo
WEB := display-client/web
VENV := target/venv
export FLOORBELL_BIN ?= $(CURDIR)/target/debug/floorbell

.PHONY: demo test test-rust test-web test-system test-python test-browser bench bench-sync bench-board fmt lint wire-types

demo: need-build
	$(CARGO) run --release --package floorbell -- demo

test: need-test lint test-rust test-web test-system test-python test-browser
	@echo "All checks passed."

lint: need-build
	$(CARGO) fmt --all -- --check
	$(CARGO) clippy --workspace --all-targets -- -D warnings
	$(CARGO) run --quiet --package floorbell-core --features typescript --example typescript | diff $(WEB)/src/shared/wire.ts - || \
		{ echo "The web types are not those of core::wire: run \`make wire-types\`." >&2; exit 1; }

test-rust: need-build
	$(CARGO) test --workspace --exclude floorbell-tests

test-web: need-build $(WEB)/node_modules
	cd $(WEB) && npm run check && npm test && npm run build && npm run sizes

test-system: binary
	$(CARGO) test --package floorbell-tests

test-python: binary need-test $(VENV)/ready
	$(VENV)/bin/python -m pytest -q tests/python

test-browser: binary need-test tests/browser/node_modules
	cd tests/browser && node --test --test-concurrency=1

bench: need-build
	$(CARGO) build --release --package floorbell --package floorbell-tests
	FLOORBELL_BIN=$(CURDIR)/target/release/floorbell $(CARGO) run --release --package floorbell-tests --bin floorbell-bench

# All of it takes about half an hour. PARTS=AB runs some of it, SECONDS=60 makes it shorter; the picture is drawn from all of it.
bench-sync: need-test tests/browser/node_modules
	$(CARGO) build --release --package floorbell
	cd tests/browser && FLOORBELL_BIN=$(CURDIR)/target/release/floorbell node bench/run.mjs \
		$(if $(PARTS),--parts $(PARTS)) $(if $(SECONDS),--seconds $(SECONDS)) $(if $(KILLS),--kills $(KILLS)) \
		$(if $(STOPS),--stops $(STOPS)) $(if $(PARTS)$(SECONDS),,--picture $(CURDIR)/docs/clock-error.svg)

bench-board: binary need-test tests/browser/node_modules
	cd tests/browser && node bench/board.mjs

fmt:
	$(CARGO) fmt --all
	cd $(WEB) && npx biome check --write

wire-types:
	$(CARGO) run --quiet --package floorbell-core --features typescript --example typescript > $(WEB)/src/shared/wire.ts

.PHONY: binary need-build need-test
binary: need-build
	$(CARGO) build --package floorbell

need-build:
	@scripts/need build

need-test:
	@scripts/need test

%/node_modules: %/package-lock.json
	cd $* && npm ci --no-audit --no-fund
	@touch $@

$(VENV)/ready: tests/python/requirements.txt
	python3 -m venv $(VENV)
	$(VENV)/bin/pip install --quiet --disable-pip-version-check --requirement $<
	@touch $@
