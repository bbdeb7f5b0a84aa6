# `make demo` and `make test` do all the set-up on a bare Debian 12 or Ubuntu machine with Rust.
SHELL := /bin/bash
export PATH := $(PATH):$(HOME)/.cargo/bin
.DEFAULT_GOAL := help
.PHONY: help setup build demo test score bench clean

help: ## this list
	@grep -E '^[a-z]+:.*## ' Makefile | sed -E 's/^([a-z]+):.*## (.*)/  make \1\t\2/' | expand -t 16

setup: ## install what the build needs and the system lacks
	@scripts/setup

build: setup ## the program, fast: target/release/truerun
	cargo build --release --locked

demo: build ## measure the sample clip, compare it with the sample target, write reports/
	target/release/truerun demo

test: setup ## everything that must hold: tests, format, lints with and without video
	cargo test --locked
	@scripts/lint

score: setup ## every clip with known truth against that truth, as a table
	cargo run --release --locked --example score

bench: setup ## processor time against decoding alone, memory over clip length
	cargo bench --locked --bench clip_cost

clean: ## remove what was built
	cargo clean
