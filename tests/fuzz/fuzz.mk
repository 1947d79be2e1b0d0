# SPDX-License-Identifier: GPL-3.0-or-later
#
# Builds the fuzz targets; read after the Makefile of a build folder, and from there:
#
#     make -f Makefile -f SOURCE/tests/fuzz/fuzz.mk fuzz-build
#
# Of the programs' files each that any target needs is compiled once more, by clang.
# Which those are the linker says: the targets are linked with the libraries as they
# are, once and all together, and its map names what it took.
FUZZ_OUT = tests/fuzz.out
FUZZ_TARGETS = $(patsubst $(srcdir)/tests/fuzz/fuzz_%.c,%,$(wildcard $(srcdir)/tests/fuzz/fuzz_*.c))
FUZZ_CC = clang
FUZZ_SANITIZE = address,undefined,float-cast-overflow
FUZZ_CFLAGS = -std=gnu11 -O1 -gline-tables-only -fno-omit-frame-pointer \
	-fsanitize=fuzzer-no-link,$(FUZZ_SANITIZE) -fno-sanitize-recover=all
FUZZ_LIBS = $(filter -l% -L% -pthread,$(DAEMON_LIBS) $(REPORT_LIBS))
FUZZ_OWN = $(FUZZ_TARGETS:%=$(FUZZ_OUT)/tests/fuzz/fuzz_%.o)
FUZZ_COMMON = $(FUZZ_OUT)/tests/fuzz/fuzz.o $(FUZZ_OUT)/tests/archive_update.o
# conf/libconf.a(load.o) -> tests/fuzz.out/conf/load.o
FUZZ_TAKEN = $(sort $(shell sed -n \
	's,^\([a-z]*\)/lib[a-z]*\.a(\([a-z_0-9]*\.o\)).*,$(FUZZ_OUT)/\1/\2,p' \
	$(FUZZ_OUT)/map 2> /dev/null))

.PHONY: fuzz-build fuzz-targets
fuzz-build: $(FUZZ_OUT)/map
	@$(MAKE) --no-print-directory -f Makefile -f $(srcdir)/tests/fuzz/fuzz.mk fuzz-targets
fuzz-targets: $(FUZZ_TARGETS:%=$(FUZZ_OUT)/fuzz_%)

$(FUZZ_OUT)/map: $(FUZZ_OWN) $(FUZZ_COMMON)
	$(FUZZ_CC) -fsanitize=fuzzer,$(FUZZ_SANITIZE) -Wl,--allow-multiple-definition,-Map=$@.new \
		-o $(FUZZ_OUT)/all $^ report/libreport.a daemon/libdaemon.a conf/libconf.a \
		$(FUZZ_LIBS)
	rm -f $(FUZZ_OUT)/all
	mv $@.new $@

$(FUZZ_OUT)/%.o: $(srcdir)/%.c
	@mkdir -p $(@D)
	$(FUZZ_CC) $(DEFS) $(AM_CPPFLAGS) $(CPPFLAGS) $(FUZZ_CFLAGS) -MMD -MP -c -o $@ $<

$(FUZZ_OUT)/all.a: $(FUZZ_TAKEN)
	rm -f $@
	ar rcsP $@ $^

$(FUZZ_TARGETS:%=$(FUZZ_OUT)/fuzz_%): $(FUZZ_OUT)/%: $(FUZZ_OUT)/tests/fuzz/%.o $(FUZZ_COMMON) \
		$(FUZZ_OUT)/all.a
	$(FUZZ_CC) -fsanitize=fuzzer,$(FUZZ_SANITIZE) -o $@ $^ $(FUZZ_LIBS)

-include $(shell find $(FUZZ_OUT) -name '*.d' 2> /dev/null)
