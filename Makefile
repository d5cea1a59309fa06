# Coatwright. `make demo` to try it, `make check` to test it; DEVELOPERS.md has the rest.
#
#   make            build/coatd, coat, coat-courier   CC=clang, and SANITIZE=1 (into build-san/), work with every target
#   make deps       installs what is missing (apt; elsewhere it names the packages)
#   make demo       an invented shop with a simulated shed; a second one goes on where the first was left
#   make check      all tests but the long ones       make check-all  the long ones as well
#   make fault      the service is killed 400 times while it works (COAT_SEED=N again)
#   make bench      figures into build/bench.json     make bench-outlook  the outlook on real air (AIR=FILE.csv)
#   make install PREFIX=/usr/local DESTDIR=

CC ?= cc
PREFIX ?= /usr/local
VERSION := 0.1.0
SANITIZE ?=
BUILD := $(if $(SANITIZE),build-san,build)

DAEMON_PKGS := libmicrohttpd gnutls sqlite3 libcjson libqrencode
CLI_PKGS := libcurl libcjson
COURIER_PKGS := libmosquitto libcurl gnutls libcjson
SHED_PKGS := libmosquitto libcurl
WARN := -Wall -Wextra -Wconversion -Wshadow -Wformat=2 -Wstrict-prototypes -Wmissing-prototypes -Wvla
CFLAGS ?= -O2 -g
WERROR ?=
ifneq ($(SANITIZE),)
  SAN_FLAGS := -fsanitize=address,undefined -fno-omit-frame-pointer -fno-sanitize-recover=all
endif
ALL_CFLAGS = -std=gnu17 -D_GNU_SOURCE -DCOAT_VERSION='"$(VERSION)"' -Iinclude -I. $(WARN) $(WERROR) -MMD -MP \
             $(CFLAGS) $(SAN_FLAGS)
ALL_LDFLAGS = $(LDFLAGS) $(SAN_FLAGS)

CORE := $(wildcard daemon/core/*.c)
STORE := $(wildcard daemon/store/*.c)
SHOP := $(wildcard daemon/shop/*.c)
HTTP := $(wildcard daemon/http/*.c)
NOTIFY := $(wildcard daemon/notify/*.c)
SENSE := $(wildcard daemon/sense/*.c)
MAIN := $(wildcard daemon/*.c)
COURIER := $(wildcard daemon/courier/*.c)
CLI := $(wildcard cli/*.c)
obj = $(patsubst %.c,$(BUILD)/%.o,$(1))

.PHONY: all deps tests demo check check-all fault bench bench-outlook install uninstall clean
all: $(BUILD)/coatd $(BUILD)/coat $(BUILD)/coat-courier $(BUILD)/demo-shed

$(BUILD)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) -c $< -o $@

include daemon/http/assets.mk
$(BUILD)/coatd: $(call obj,$(CORE) $(STORE) $(SHOP) $(SENSE) $(NOTIFY) $(HTTP) $(MAIN)) $(ASSETS_OBJ)
	$(CC) $(ALL_LDFLAGS) $^ -o $@ $$(pkg-config --libs $(DAEMON_PKGS)) -lm

$(BUILD)/coat: $(call obj,$(CORE) $(CLI))
	$(CC) $(ALL_LDFLAGS) $^ -o $@ $$(pkg-config --libs $(CLI_PKGS)) -lm

$(BUILD)/coat-courier: $(call obj,$(COURIER))
	$(CC) $(ALL_LDFLAGS) $^ -o $@ $$(pkg-config --libs $(COURIER_PKGS))

$(BUILD)/demo-shed: $(call obj,demo/shed.c)
	$(CC) $(ALL_LDFLAGS) $^ -o $@ $$(pkg-config --libs $(SHED_PKGS)) -lm

# ---- tests: a program a file, linked with the part that its folder names and what that part rests on ----
JSON := $(wildcard daemon/http/json_*.c)
PART_unit := $(CORE)
PART_store := $(CORE) $(STORE)
PART_shop := $(CORE) $(STORE) $(SHOP)
PART_http := $(CORE) $(JSON) daemon/http/ical.c daemon/clock.c
PART_sense := $(CORE) $(SENSE) daemon/child.c daemon/link.c daemon/clock.c
PART_notify := $(CORE) $(NOTIFY) daemon/child.c daemon/link.c daemon/clock.c
PART_cli := $(CORE) $(filter-out cli/coat.c,$(CLI))
PARTS := unit store shop http sense notify cli
TEST_LIBS := -lcmocka -lsqlite3 -lcjson -lcurl -lical -lm

test_programs = $(patsubst tests/%.c,$(BUILD)/tests/%,$(wildcard tests/$(1)/test_*.c))
TESTS := $(foreach part,$(PARTS),$(call test_programs,$(part)))

define test_rule
$(BUILD)/tests/$(1)/test_%: $(BUILD)/tests/$(1)/test_%.o $$(call obj,$$(PART_$(1)))
	$$(CC) $$(ALL_LDFLAGS) $$^ -o $$@ $$(TEST_LIBS)
endef
$(foreach part,$(PARTS),$(eval $(call test_rule,$(part))))

$(BUILD)/tests/shop/test_clock_histories: ALL_LDFLAGS += -Wl,--wrap=store_materials

$(BUILD)/tests/grid_air: $(BUILD)/tests/unit/grid_air.o $(call obj,$(CORE))
	$(CC) $(ALL_LDFLAGS) $^ -o $@ -lm
$(BUILD)/tests/ical_read: $(BUILD)/tests/http/ical_read.o
	$(CC) $(ALL_LDFLAGS) $^ -o $@ -lical -lcjson
$(BUILD)/tests/courier/links: $(BUILD)/tests/courier/links.o $(call obj,$(PART_sense))
	$(CC) $(ALL_LDFLAGS) $^ -o $@ -lcjson -lm
$(BUILD)/tests/courier/channels: $(BUILD)/tests/courier/channels.o $(call obj,$(PART_notify))
	$(CC) $(ALL_LDFLAGS) $^ -o $@ -lcjson -lm
$(BUILD)/tests/bench/outlook: $(BUILD)/tests/bench/outlook.o $(call obj,$(CORE))
	$(CC) $(ALL_LDFLAGS) $^ -o $@ -lm
$(BUILD)/tests/bench/bench: $(call obj,$(filter-out tests/bench/outlook.c,$(wildcard tests/bench/*.c)) $(PART_shop))
	$(CC) $(ALL_LDFLAGS) $^ -o $@ -lsqlite3 -lm
.SECONDARY:

tests: all $(TESTS) $(BUILD)/tests/grid_air $(BUILD)/tests/ical_read $(BUILD)/tests/courier/links $(BUILD)/tests/courier/channels

deps:
	tests/deps.sh tests

check: deps
	$(MAKE) -j2 tests
	BUILD=$(BUILD) tests/run.sh

# Everything again under the sanitizers, with clang as well, and the programs under valgrind.
check-all: check
	tests/run-long.sh

fault: deps
	$(MAKE) -j2 all
	cd tests && COAT_BUILD=$(CURDIR)/$(BUILD) COAT_FAULT_KILLS=400 node --test fault/kill.test.js

bench:
	tests/deps.sh build
	$(MAKE) all $(BUILD)/tests/bench/bench
	$(BUILD)/tests/bench/bench $(BUILD)/bench.json
	@if [ -e tests/node_modules/.installed ] && command -v node >/dev/null && command -v chromium >/dev/null; then \
		COAT_BUILD=$(CURDIR)/$(BUILD) node tests/bench/page.js $(BUILD)/bench.json; \
	else echo "The page is left out: it takes a browser and the test packages, which make deps installs."; fi

# The outlook on real air; AIR=FILE.csv takes another recording.
AIR ?= tests/reference/air/airport_hours.csv
bench-outlook: $(BUILD)/tests/bench/outlook
	$(BUILD)/tests/bench/outlook tests/reference/air/office_minutes.csv
	$(BUILD)/tests/bench/outlook $(AIR)

demo:
	tests/deps.sh demo
	$(MAKE) -j2 all
	demo/demo.sh

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/libexec/coatwright $(DESTDIR)$(PREFIX)/share/man/man1
	install -m 755 $(BUILD)/coatd $(BUILD)/coat $(DESTDIR)$(PREFIX)/bin
	install -m 755 $(BUILD)/coat-courier $(DESTDIR)$(PREFIX)/libexec/coatwright
	install -m 644 cli/coat.1 $(DESTDIR)$(PREFIX)/share/man/man1

uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/coatd $(DESTDIR)$(PREFIX)/bin/coat $(DESTDIR)$(PREFIX)/share/man/man1/coat.1
	rm -f $(DESTDIR)$(PREFIX)/libexec/coatwright/coat-courier

clean:
	rm -rf build build-san

-include $(shell find $(BUILD) -name '*.d' 2>/dev/null)
