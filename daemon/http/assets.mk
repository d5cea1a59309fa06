# The page's files as byte arrays, plain and compressed: web/ -> $(BUILD)/web/assets.c -> $(ASSETS_OBJ). Dot-files stay out.

HOSTCC ?= $(CC)
WEB_FILES := $(shell find web -type f ! -name '.*' 2>/dev/null | LC_ALL=C sort)
ASSETS_OBJ := $(BUILD)/web/assets.o

$(BUILD)/web/embed: daemon/http/embed/embed.c
	@mkdir -p $(@D)
	$(HOSTCC) -std=gnu17 -O1 $(WARN) $< -o $@

# The list itself is a prerequisite, so that a file taken away is noticed too.
$(BUILD)/web/list: FORCE
	@mkdir -p $(@D)
	@echo '$(WEB_FILES)' | cmp -s - $@ || echo '$(WEB_FILES)' >$@

# Without names and dates, so that the same files give the same bytes.
$(BUILD)/web/small/%.gz: web/%
	@mkdir -p $(@D)
	gzip -9 -n -c $< >$@.new && mv $@.new $@

$(BUILD)/web/small/openapi.json.gz: daemon/http/openapi.json
	@mkdir -p $(@D)
	gzip -9 -n -c $< >$@.new && mv $@.new $@

$(BUILD)/web/assets.c: $(BUILD)/web/embed $(BUILD)/web/list $(WEB_FILES) $(WEB_FILES:web/%=$(BUILD)/web/small/%.gz)
	$(BUILD)/web/embed web $(BUILD)/web/small $(WEB_FILES) >$@.new && mv $@.new $@

$(ASSETS_OBJ): $(BUILD)/web/assets.c
	$(CC) $(ALL_CFLAGS) -c $< -o $@

# The description of the API, a table of its own.
ASSETS_OBJ += $(BUILD)/web/openapi.o

$(BUILD)/web/openapi.c: $(BUILD)/web/embed daemon/http/openapi.json $(BUILD)/web/small/openapi.json.gz
	$(BUILD)/web/embed daemon/http $(BUILD)/web/small daemon/http/openapi.json >$@.new && mv $@.new $@

$(BUILD)/web/openapi.o: $(BUILD)/web/openapi.c
	$(CC) $(ALL_CFLAGS) -Dhttp_asset_table=http_openapi_table -Dhttp_asset_count=http_openapi_count -c $< -o $@

.PHONY: FORCE
FORCE:
