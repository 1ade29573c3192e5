# SPDX-License-Identifier: MIT
# The house rules, in one pass over all files; tidy says which. Any awk will do: no intervals, no
# word boundaries, bytes for characters.
# Files: -v all=LIST names every source and meson.build, so that a header can be looked for.

# In files whose path matches `in_` and not `out` (where it is given), no line may match `pattern`.
function forbid(reason, pattern, in_, out) {
	reasons[++rules] = reason
	patterns[rules] = pattern
	ins[rules] = in_
	outs[rules] = out
}

# A call of one of these functions, names with | between.
function call(names) {
	return "(^|[^A-Za-z0-9_])(" names ")\\("
}

function breach(reason, line, text) {
	printf "%s:%d:%s  <- %s\n", FILENAME, line, text, reason
	breaches++
}

function folder_of(path) {
	return sub(/\/[^\/]*$/, "", path) ? path : "."
}

BEGIN {
	source = "^(daemon|lib|simulator|tests|tools)/.*\\.[ch]$"
	programs = "^(daemon|tools|simulator)/"
	# lib/: each folder includes itself and what stands left of it; the last three are strangers.
	left = "base"
	lefts["base"] = left
	count = split("measure judge result", names, " ")
	for (i = 1; i <= count; i++)
		lefts[names[i]] = left = left "|" names[i]
	count = split("store wire draw", names, " ")
	for (i = 1; i <= count; i++)
		lefts[names[i]] = left "|" names[i]

	forbid("include by name, not by a way through the tree", "^#include \"\\.\\.",
		"^(lib|daemon|tools|simulator)/")
	forbid("uv.h belongs to daemon/ and the monitor", "^#include <uv", source,
		"^(daemon/|tests/|tools/monitor)")
	forbid("libserialport.h belongs to daemon/port*.c", "^#include <libserialport", source,
		"^(daemon/port[^/]*\\.c$|tests/)")
	forbid("sqlite3.h belongs to lib/store", "^#include <sqlite3", source, "^(lib/store/|tests/)")
	forbid("cairo and pango belong to lib/draw/page*", "^#include <(cairo|pango)", source,
		"^lib/draw/page|^tests/")
	forbid("lib/ knows no clock, thread or terminal",
		"^#include <(pthread|threads|termios|poll|signal|sys/socket)\\.h>|" \
		call("clock_gettime|gettimeofday|time"), "^lib/")
	forbid("a struct needs no typedef", "^typedef struct", source)
	forbid("writes without a bound", call("strcat|sprintf|vsprintf|gets"), source)
	forbid("hides a bad number, or depends on the locale",
		call("atoi|atol|atof|strtod|strtof"), "^(lib|daemon|tools|simulator)/")
	forbid("an open end", "(^|[^A-Za-z0-9_])(TO" "DO|FIX" "ME|XX" "X)([^A-Za-z0-9_]|$)",
		source "|^docs/.*\\.md$")
	forbid("wait for an event instead of sleeping", call("sleep|usleep|nanosleep"), "^tests/")
	forbid("white space at the end of a line", "[ \t\r\f\v]$", source)
	forbid("left over from a merge", "^(<<<<<<<|=======|>>>>>>>)( |$)", ".", "^docs/")

	while ((getline path <all) > 0)
		exists[path] = 1
}

function new_file(   i) {
	is_source = FILENAME ~ source && FILENAME !~ /^tests\/tidy\//
	is_build = FILENAME ~ /(^|\/)meson\.build$/
	is_program = FILENAME ~ programs
	applying = 0
	start = 0
	folder = folder_of(FILENAME)
	lib = ""
	if (FILENAME ~ /^lib\/[^\/]*\//) {
		split(FILENAME, parts, "/")
		lib = parts[2]
	}
	if (is_build)
		builds[folder] = 1
	for (i = 1; i <= rules && !is_build; i++)
		if (FILENAME ~ ins[i] && (outs[i] == "" || FILENAME !~ outs[i]) &&
			(is_source || ins[i] == "." || FILENAME ~ /^docs\//))
			apply[++applying] = i
	if (is_source && $0 !~ /^\/\* SPDX-License-Identifier: MIT( \*\/)?$/)
		breach("the first line names the licence", 1, "")
	if (FILENAME ~ /\.c$/)
		units[FILENAME] = 1
}

# Names between quotes, without their folder and their ending.
function names_in_build(   i, count, parts) {
	count = split($0, parts, "'")
	for (i = 1; i <= count; i++) {
		sub(/^.*\//, "", parts[i])
		sub(/\.c$/, "", parts[i])
		listed[folder, parts[i]] = 1
	}
}

function check_include(   header, top) {
	header = $0
	sub(/^#include "/, "", header)
	sub(/".*/, "", header)
	if (lib in lefts && header !~ "^(" lefts[lib] ")/")
		breach("lib/" lib " may include only " lefts[lib], FNR, $0)
	if (!is_program)
		return
	top = FILENAME
	sub(/\/.*/, "", top)
	if (!((top "/" header) in exists) && !(("lib/" header) in exists) &&
		!((folder "/" header) in exists))
		breach(top "/ may include only lib/ and itself", FNR, $0)
}

# Columns with tabs of eight; a byte that goes on with a character has none.
function columns(line,   i, count, parts, width) {
	gsub(/[\200-\277]/, "", line)
	count = split(line, parts, "\t")
	for (i = 1; i < count; i++)
		width += 8 * (int(length(parts[i]) / 8) + 1)
	return width + length(parts[count])
}

FNR == 1 { new_file() }

is_build {
	names_in_build()
	next
}

{
	for (i = 1; i <= applying; i++)
		if ($0 ~ patterns[apply[i]])
			breach(reasons[apply[i]], FNR, $0)
}

!is_source { next }

/^#include "/ { check_include() }

# Four tabs make at most 28 columns more than bytes.
(length > 72 || /\t.*\t.*\t.*\t.*\t/) && columns($0) > 100 { breach("longer than 100 columns", FNR, "") }

/^\{/ { start = FNR }
/^\}/ && start {
	if (FNR - start - 1 > 70)
		breach("a function of more than 70 lines", start, "")
	start = 0
}

# Nothing lies about unbuilt: each .c is named in the meson.build of its folder or of one above, with
# or without what a foreach adds: test_ or bench_ before it, .c after it.
function is_built(path,   folder, name, short) {
	name = path
	sub(/^.*\//, "", name)
	sub(/\.c$/, "", name)
	short = name
	sub(/^[^_]*_/, "", short)
	for (folder = folder_of(path); folder != "."; folder = folder_of(folder))
		if (((folder, name) in listed) || ((folder, short) in listed))
			return 1
	return 0
}

END {
	for (FILENAME in units)
		if (FILENAME ~ source && FILENAME !~ /^tests\/tidy\// && !is_built(FILENAME))
			breach("in no meson.build", 1, "")
	exit breaches > 0
}
