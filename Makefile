# Coatwright. `make demo` to try it, `make check` to test it; DEVELOPERS.md has the rest.
#
#   make            build/coatd and build/coat        make CC=clang, make SANITIZE=1 (build-san/) as well
#   make deps       install what is missing (apt; elsewhere: names the packages)
#   make check      unit, reference, api, browser     make check-all     also the long runs
#   make bench      figures, build/bench.json         make install PREFIX=/usr/local DESTDIR=

CC ?= cc
PREFIX ?= /usr/local
VERSION := 0.1.0
SANITIZE ?=
BUILD := $(if $(SANITIZE),build-san,build)

PKGS := libmicrohttpd sqlite3 libcjson
CLI_PKGS := libcurl libcjson
WARN := -Wall -Wextra -Wconversion -Wshadow -Wformat=2 -Wstrict-prototypes -Wmissing-prototypes -Wvla -Wdouble-promotion
CFLAGS ?= -O2 -g
ifneq ($(SANITIZE),)
  CFLAGS += -fsanitize=address,undefined -fno-omit-frame-pointer -fno-sanitize-recover=all
  LDFLAGS += -fsanitize=address,undefined
endif
WERROR ?=
ALL_CFLAGS = -std=gnu17 -D_GNU_SOURCE -DCOAT_VERSION='"$(VERSION)"' -Iinclude -I. $(WARN) $(WERROR) -MMD -MP $(CFLAGS)

CORE := $(wildcard daemon/core/*.c)
DAEMON := $(wildcard daemon/*.c daemon/store/*.c daemon/shop/*.c daemon/notify/*.c daemon/http/*.c)
CLI := $(wildcard cli/*.c)
obj = $(patsubst %.c,$(BUILD)/%.o,$(1))

.PHONY: all deps demo check check-all check-unit check-san bench install clean
all: $(BUILD)/coatd $(BUILD)/coat

$(BUILD)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) $(if $(filter daemon/core/%,$<),,$(PKG_CFLAGS)) -c $< -o $@

include daemon/http/assets.mk
$(BUILD)/coatd: $(call obj,$(CORE) $(DAEMON)) $(ASSETS_OBJ)
	$(CC) $(LDFLAGS) $^ -o $@ $$(pkg-config --libs $(PKGS)) -lm

$(BUILD)/coat: $(call obj,$(CORE) $(CLI))
	$(CC) $(LDFLAGS) $^ -o $@ $$(pkg-config --libs $(CLI_PKGS)) -lm

clean:
	rm -rf build build-san

-include $(wildcard $(BUILD)/*/*.d $(BUILD)/*/*/*.d)
