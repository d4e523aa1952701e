# Commands of this repository. Two matter: `make demo` and `make test`.

SHELL       := /usr/bin/env bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:

export CGO_ENABLED ?= 0

# Passed on: make demo DEMO_ARGS='--no-serve', make test TEST_ARGS='-run Spice'
DEMO_ARGS ?=
TEST_ARGS ?=
BENCH_ARGS ?=

.PHONY: help
help: ## list these commands
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 12

.PHONY: demo
demo: build ## build fettle, write the demo vehicle and open its page
	./bin/fettle demo $(DEMO_ARGS)

.PHONY: build
build: assets ## build bin/fettle
	go build -trimpath -o bin/fettle ./cmd/fettle

.PHONY: assets
assets: ## bundle the pages' scripts and styles (no Node needed)
	go run ./cmd/bundle

.PHONY: generate
generate: ## rewrite what is generated from the sources
	go generate ./...

.PHONY: test
test: need assets types lint ## everything that must pass before a change lands
	go test $(TEST_ARGS) ./...
	if [ -f bench/go.mod ]; then cd bench && go vet ./... && go test $(TEST_ARGS) ./...; fi

.PHONY: need
need: ## install Chromium and the reference programs when they are missing
	.ci/need

.PHONY: lint
lint: ## vet and staticcheck
	go vet ./...
	go tool staticcheck ./...

.PHONY: types
types: node_modules/.package-lock.json ## check the types of the pages' scripts
	npm run --silent types

node_modules/.package-lock.json: package.json package-lock.json .npmrc
	npm ci --no-audit --no-fund
	@touch $@

.PHONY: fmt
fmt: ## format the Go sources
	go tool gofumpt -w $(wildcard *.go) cmd internal $(wildcard bench)

.PHONY: bench
bench: ## measure, and print the ratios kept in BENCHMARKS.md
	@[ -f bench/go.mod ] || { echo "make bench: there is no bench module yet" >&2; exit 1; }
	cd bench && go run . $(BENCH_ARGS)

.PHONY: studies
studies: ## run the long studies in full and write their figures to STUDIES.md
	go run ./cmd/studies $(STUDIES_ARGS)

.PHONY: clean
clean: ## remove what was built
	rm -rf bin node_modules internal/web/dist/app.js internal/web/dist/app.css
