# Holdfast. `make help` lists the targets.
#
# One file, no recursion into folders. Every variant is built into build/<variant>/ from the same rules; a flag or a
# compiler that changes rebuilds its variant only. BUILD=/elsewhere moves the whole build tree.

MAKEFLAGS += --no-builtin-rules --no-print-directory
ifeq ($(MAKELEVEL)$(filter -j% --jobs%,$(MAKEFLAGS)),0)
MAKEFLAGS += --jobs=$(shell nproc 2>/dev/null || echo 2)
endif
.SUFFIXES:
.DELETE_ON_ERROR:
SHELL := /bin/bash
export PYTHONDONTWRITEBYTECODE := 1

BUILD ?= build
PORT ?= 8080
WERROR ?= -Werror
prefix ?= /usr/local
sysconfdir ?= /etc
unitdir ?= $(prefix)/lib/systemd/system

GCC ?= gcc
CLANG ?= clang
CFLAGS_ALL := -std=c17 -D_GNU_SOURCE -ffp-contract=off -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wvla \
	-Wstrict-prototypes -Wmissing-prototypes $(WERROR) -isystem /usr/include/postgresql
LIBS := -lmicrohttpd -ljansson -lpq -lsodium -lgnutls -lcurl-gnutls -lpthread -lm

# ---------------------------------------------------------------- variants
VARIANTS := dev san tsan clang o0 release fuzz cov
CC_dev     := $(GCC)
CC_san     := $(GCC)
CC_tsan    := $(GCC)
CC_clang   := $(CLANG)
CC_o0      := $(GCC)
CC_release := $(GCC)
CC_fuzz    := $(CLANG)
CC_cov     := $(GCC)
CFLAGS_dev     := -O2 -g
# HF_ARENA_PLAIN: every arena allocation is a malloc of its own, so that overruns are seen.
CFLAGS_san     := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all -DHF_ARENA_PLAIN
CFLAGS_tsan    := -O1 -g -fno-omit-frame-pointer -fsanitize=thread
CFLAGS_clang   := -O2 -g
CFLAGS_o0      := -O0 -g
# The whole program at once: the same arithmetic, a sixth less time for an evaluation.
CFLAGS_release := -O3 -flto=auto -g -fPIE -fstack-protector-strong -D_FORTIFY_SOURCE=2
CFLAGS_fuzz    := -O1 -g -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all -DHF_ARENA_PLAIN
CFLAGS_cov     := -O0 -g --coverage
LDFLAGS_san     := -fsanitize=address,undefined
LDFLAGS_tsan    := -fsanitize=thread
LDFLAGS_release := -pie -Wl,-z,relro,-z,now
LDFLAGS_fuzz    := -fsanitize=address,undefined

# ---------------------------------------------------------------- sources
CORE_C    := $(sort $(wildcard core/*.c))
SERVER_C  := $(sort $(filter-out server/main.c,$(wildcard server/*.c server/*/*.c)))
ASK_C     := $(sort $(wildcard tests/support/ask*.c))
SUPPORT_C := $(sort $(filter-out $(ASK_C),$(wildcard tests/support/*.c)))
UNIT_CORE_C   := $(sort $(wildcard tests/unit/core/test_*.c))
UNIT_SERVER_C := $(sort $(wildcard tests/unit/server/test_*.c))
FUZZ_C    := $(sort $(wildcard tests/fuzz/*.c))
BENCH_C   := $(sort $(wildcard tests/bench/*.c))
GENERATED := registry migrations rules assets
# T=frame limits `make unit` to tests/unit/*/test_frame.c.
T ?= *
unit_binaries = $(or $(patsubst %.c,$(BUILD)/$(1)/%,$(sort $(wildcard tests/unit/*/test_$(T).c))),$(error no unit test matches T=$(T)))

.PHONY: all run backup restore stop test unit http cases validation lint format kill bench bench-http browser clients openapi reference san tsan fuzz replay install clean help FORCE
.DEFAULT_GOAL := all

all: $(BUILD)/dev/holdfastd  ## build the daemon (build/dev/holdfastd)

# ---------------------------------------------------------------- generated sources, the same for all variants
# Written only when the text changed, so that a new resource or migration is seen and nothing else rebuilds.
$(BUILD)/generated/registry.c: FORCE
	@tests/support/generate.sh registry $@
$(BUILD)/generated/migrations.c: FORCE
	@tests/support/generate.sh migrations $@
$(BUILD)/generated/rules.c: FORCE
	@tests/support/generate.sh rules $@
$(BUILD)/generated/assets.c: FORCE
	@tests/support/generate.sh assets $@

# ---------------------------------------------------------------- rules of one variant
define rules
$(BUILD)/$(1)/flags: FORCE
	@mkdir -p $$(@D); echo '$(CC_$(1)) $(CFLAGS_ALL) $(CFLAGS_$(1)) $(LDFLAGS_$(1))' | cmp -s - $$@ || \
		echo '$(CC_$(1)) $(CFLAGS_ALL) $(CFLAGS_$(1)) $(LDFLAGS_$(1))' > $$@
$(BUILD)/$(1)/%.o: %.c $(BUILD)/$(1)/flags
	@mkdir -p $$(@D); echo "  CC $(1) $$<"
	@$(CC_$(1)) $(CFLAGS_ALL) $(CFLAGS_$(1)) $(CFLAGS) -MMD -MP -c -o $$@ $$<
$(BUILD)/$(1)/generated/%.o: $(BUILD)/generated/%.c $(BUILD)/$(1)/flags
	@mkdir -p $$(@D)
	@$(CC_$(1)) $(CFLAGS_ALL) $(CFLAGS_$(1)) $(CFLAGS) -I. -MMD -MP -c -o $$@ $$<
$(BUILD)/$(1)/libholdfast-core.a: $(CORE_C:%.c=$(BUILD)/$(1)/%.o)
$(BUILD)/$(1)/libholdfast-server.a: $(SERVER_C:%.c=$(BUILD)/$(1)/%.o) $(GENERATED:%=$(BUILD)/$(1)/generated/%.o)
$(BUILD)/$(1)/libholdfast-%.a:
	@rm -f $$@; ar rcs $$@ $$^
$(BUILD)/$(1)/holdfastd: $(BUILD)/$(1)/server/main.o $(BUILD)/$(1)/libholdfast-server.a $(BUILD)/$(1)/libholdfast-core.a
	@echo "  LD $(1) holdfastd"
	@$(CC_$(1)) $(CFLAGS_$(1)) $(LDFLAGS_$(1)) $(LDFLAGS) -o $$@ $$^ $(LIBS)
$(BUILD)/$(1)/tests/support/ask: $(ASK_C:%.c=$(BUILD)/$(1)/%.o) $(BUILD)/$(1)/libholdfast-core.a
	@$(CC_$(1)) $(CFLAGS_$(1)) $(LDFLAGS_$(1)) -o $$@ $$^ -ljansson -lm
# The core's tests are linked against the core alone: it must need nothing else.
$(BUILD)/$(1)/tests/unit/core/test_%: $(BUILD)/$(1)/tests/unit/core/test_%.o $(SUPPORT_C:%.c=$(BUILD)/$(1)/%.o) $(BUILD)/$(1)/libholdfast-core.a
	@$(CC_$(1)) $(CFLAGS_$(1)) $(LDFLAGS_$(1)) -o $$@ $$^ -lcriterion -lm
$(BUILD)/$(1)/tests/unit/server/test_%: $(BUILD)/$(1)/tests/unit/server/test_%.o $(SUPPORT_C:%.c=$(BUILD)/$(1)/%.o) \
		$(BUILD)/$(1)/libholdfast-server.a $(BUILD)/$(1)/libholdfast-core.a
	@$(CC_$(1)) $(CFLAGS_$(1)) $(LDFLAGS_$(1)) -o $$@ $$^ -lcriterion $(LIBS)
$(BUILD)/$(1)/tests/bench/%: $(BUILD)/$(1)/tests/bench/%.o $(BUILD)/$(1)/libholdfast-server.a $(BUILD)/$(1)/libholdfast-core.a
	@$(CC_$(1)) $(CFLAGS_$(1)) $(LDFLAGS_$(1)) -o $$@ $$^ $(LIBS)
# The same without libFuzzer, for what is kept.
$(BUILD)/$(1)/tests/fuzz/replay/%: $(BUILD)/$(1)/tests/fuzz/%.o $(BUILD)/$(1)/tests/fuzz/replay/main.o \
		$(BUILD)/$(1)/libholdfast-server.a $(BUILD)/$(1)/libholdfast-core.a
	@$(CC_$(1)) $(CFLAGS_$(1)) $(LDFLAGS_$(1)) -o $$@ $$^ $(LIBS)
$(BUILD)/$(1)/tests/fuzz/%: $(BUILD)/$(1)/tests/fuzz/%.o $(BUILD)/$(1)/libholdfast-server.a $(BUILD)/$(1)/libholdfast-core.a
	@$(CC_$(1)) $(CFLAGS_$(1)) $(LDFLAGS_$(1)) -fsanitize=fuzzer -o $$@ $$^ $(LIBS)
endef
$(foreach v,$(VARIANTS),$(eval $(call rules,$(v))))
.SECONDARY:
FORCE:
-include $(shell find $(BUILD) -name '*.d' 2>/dev/null)

# ---------------------------------------------------------------- run
run:  ## packages, build, private database, demo clinic, daemon on PORT=8080; Ctrl-C ends all of it
	@PORT=$(PORT) MAKE='$(MAKE)' deploy/local/run.sh
backup:  ## copy the private database of `make run` into FILE=.run/backup-<time>.dump
	@deploy/local/copy.sh backup '$(FILE)'
restore:  ## bring FILE=… back; what is there now is kept under another name
	@deploy/local/copy.sh restore '$(FILE)'
stop:  ## stop the private database (and a daemon left behind) of `make run`
	@deploy/local/stop.sh
clean:  ## stop what runs, remove everything built and the private database
	@deploy/local/stop.sh
	rm -rf $(BUILD) .run

# ---------------------------------------------------------------- test
test:  ## every check against a private database of its own; last line `N passed, N failed`
	@MAKE='$(MAKE)' BUILD=$(BUILD) tests/run.sh
unit:  ## unit tests under ASan and UBSan (T=frame: only tests/unit/*/test_frame.c; V=dev: another variant)
	@$(MAKE) $(call unit_binaries,$(or $(V),san))
	@tests/support/with-database.sh tests/support/unit.py $(call unit_binaries,$(or $(V),san))
http:  ## black-box tests of the daemon under ASan and UBSan (T=resources: only tests/http/test_resources.py; V=dev)
	@$(MAKE) $(BUILD)/$(or $(V),san)/holdfastd
	@tests/support/with-database.sh tests/http/run.py $(BUILD)/$(or $(V),san)/holdfastd 'test_$(T)'
cases:  ## published cases by the daemon and by single models (V=dev: another variant than san)
	@$(MAKE) $(BUILD)/$(or $(V),san)/holdfastd $(BUILD)/$(or $(V),san)/tests/support/ask
	@tests/cases/run.py $(BUILD)/$(or $(V),san)/holdfastd
validation: $(BUILD)/dev/holdfastd  ## write api/validation.md: published cases beside ours
	@tests/validation/run.py --write $<
lint: $(BUILD)/dev/libholdfast-core.a  ## format, include directions, lengths, banned calls, core links alone
	@tests/lint/lint.py $<
format:  ## rewrite the C sources as .clang-format says
	@find core server tests -name '*.[ch]' | xargs clang-format -i
COVERED := $(BUILD)/cov/holdfastd $(BUILD)/cov/tests/support/ask $(UNIT_CORE_C:%.c=$(BUILD)/cov/%) \
	$(patsubst %,$(BUILD)/cov/tests/unit/server/test_%,document course)
coverage: $(COVERED)  ## lines and branches of core/ that unit tests, documents and published cases run
	@tests/support/with-database.sh tests/support/coverage.py $(BUILD)/cov
san:  ## unit and HTTP tests under ASan and UBSan
	@$(MAKE) unit http V=san
tsan:  ## HTTP tests under ThreadSanitizer (criterion does not run under it)
	@$(MAKE) http V=tsan
kill: $(BUILD)/dev/holdfastd  ## kill -9 of daemon and PostgreSQL under writes, ROUNDS=200: nothing acknowledged is lost
	@tests/kill/run.py $< $(or $(ROUNDS),200)
bench: $(BENCH_C:%.c=$(BUILD)/release/%)  ## evaluations per second of the core, and against one finite-element run
	@tests/bench/run.py $(BUILD)/release/tests/bench
bench-http: $(BUILD)/release/holdfastd  ## requests per second beside another stack, pgbench and a file server (minutes)
	@deploy/local/packages.sh bench
	@mkdir -p $(BUILD)/bench-http && cp tests/bench/http/package*.json $(BUILD)/bench-http/
	@npm ci --prefix $(BUILD)/bench-http --ignore-scripts --no-audit --no-fund --silent
	@tests/bench/http/run.py $< $(BUILD)/bench-http
browser: $(BUILD)/dev/holdfastd  ## every page and drawing in Chromium, with axe-core (minutes; T=visit: only what is named so)
	@deploy/local/packages.sh browser
	@mkdir -p $(BUILD)/browser && cp tests/browser/package*.json $(BUILD)/browser/
	@npm ci --prefix $(BUILD)/browser --ignore-scripts --no-audit --no-fund --silent
	@tests/support/with-database.sh tests/browser/run.py $< $(BUILD)/browser $(filter-out *,$(T))
# TypeScript's output is what runs; the types are those of the checked-in description.
clients:  ## clients of api/clients.md and a generated TypeScript one against a private service (needs Node.js 20 with npm)
	@mkdir -p $(BUILD)/clients && cp tests/clients/* $(BUILD)/clients/
	@npm ci --prefix $(BUILD)/clients --ignore-scripts --no-audit --no-fund --silent
	@$(BUILD)/clients/node_modules/.bin/openapi-typescript api/openapi.yaml -o $(BUILD)/clients/api.d.ts
	@$(BUILD)/clients/node_modules/.bin/tsc -p $(BUILD)/clients
	@HOLDFAST_NODE=$(abspath $(BUILD)/clients) $(MAKE) http T=clients V=dev
openapi: $(BUILD)/dev/holdfastd  ## rewrite api/openapi.yaml from the tables of the daemon
	@$< openapi > $@.new && mv $@.new api/openapi.yaml || { rm -f $@.new; exit 1; }
reference:  ## compare the closed recipes with finite-element runs (minutes; needs gmsh and ccx)
	@deploy/local/packages.sh reference
	@tests/reference/run.sh
# What breaks a fuzzer is written to tests/fuzz/regression/ and belongs into the commit that mends it.
fuzz: $(FUZZ_C:%.c=$(BUILD)/fuzz/%)  ## run each fuzzer, that of requests too, for SECONDS_EACH=60 (T=json: only that one)
	@for f in $(or $(filter %/$(T),$(FUZZ_C:%.c=$(BUILD)/fuzz/%)),$(FUZZ_C:%.c=$(BUILD)/fuzz/%)); do \
		n=$$(basename $$f); r=tests/fuzz/regression/$$n; mkdir -p $$f.corpus $$r; echo "== $$n"; \
		$$f -max_total_time=$(or $(SECONDS_EACH),60) -timeout=5 -verbosity=0 -print_final_stats=1 -artifact_prefix=$$r/ \
			$$f.corpus $$r $$(ls -d tests/fuzz/corpus/$$n 2>/dev/null) $$([ $$n = document ] && echo api/examples) || exit 1; \
		rmdir --ignore-fail-on-non-empty $$r; done
	@$(if $(T),,FUZZ_SECONDS=$(or $(SECONDS_EACH),60) $(MAKE) http T=fuzz V=san)
replay: $(FUZZ_C:tests/fuzz/%.c=$(BUILD)/san/tests/fuzz/replay/%)  ## every input kept for the fuzzers, under ASan and UBSan
	@tests/fuzz/replay.sh $(BUILD)/san/tests/fuzz/replay

# ---------------------------------------------------------------- install
install: $(BUILD)/release/holdfastd  ## install daemon, service unit and example configuration (DESTDIR, prefix, sysconfdir)
	install -D -m 755 $< $(DESTDIR)$(prefix)/bin/holdfastd
	install -D -m 644 deploy/holdfastd.conf.example $(DESTDIR)$(sysconfdir)/holdfastd/holdfastd.conf.example
	install -d $(DESTDIR)$(unitdir)
	sed 's|/usr/local/bin/|$(prefix)/bin/|' deploy/holdfastd.service > $(DESTDIR)$(unitdir)/holdfastd.service
	chmod 644 $(DESTDIR)$(unitdir)/holdfastd.service

help:  ## this list
	@awk -F ':.*  ## ' '/^[a-z0-9-]+:.*  ## / {printf "  make %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)
