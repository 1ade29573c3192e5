/* SPDX-License-Identifier: MIT
 *
 * The calendar against RFC 5545: line ends and folding (3.1), escapes (3.3.11), what an event must
 * have (3.6.1).
 */
#include "result/calendar.h"
#include "unit/check.h"

#include <string.h>

static const int64_t day_ns = INT64_C(24) * 3600 * CLOCKS_NS_PER_S;
static char buffer[3 * CALENDAR_EVENT_SIZE];
static struct text text;

static void put(const char *id, const char *set, const char *method)
{
	struct specimen specimen = {
		.cast = {INT64_C(1772460000) * CLOCKS_NS_PER_S}}; /* 2026-03-02T14:00Z */
	strcpy(specimen.id, id);
	strcpy(specimen.set, set);
	strcpy(specimen.method, method);
	text_init(&text, buffer, sizeof buffer);
	calendar_begin(&text);
	calendar_event(&text, &specimen, 28 * day_ns, (struct utc_time){0});
	calendar_end(&text);
	assert_false(text.overflow);
}

static void expect(const char *line)
{
	if (!strstr(buffer, line))
		fail_msg("no '%s' in:\n%s", line, buffer);
}

static void an_event(void **state)
{
	(void)state;
	put("Q-1", "quay-7", "astm-c39");
	expect("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:");
	expect("\r\nUID:specimen-512d31@ramplog\r\n");
	expect("\r\nDTSTAMP:19700101T000000Z\r\n");
	/* 28 d +- 20 h (read) */
	expect("\r\nDTSTART:20260329T180000Z\r\nDTEND:20260331T100000Z\r\n");
	expect("\r\nSUMMARY:test Q-1 (28 d)\r\n");
	expect("\r\nDESCRIPTION:due 2026-03-30T14:00Z\\; set quay-7\\; ASTM C39/C39M (SI)\r\n");
	expect("\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n");
}

/* Without a tolerance the event is a moment: an end that is no later than its begin is not valid.
 */
static void a_moment(void **state)
{
	(void)state;
	put("Q-1", "", "unknown-method");
	expect("\r\nDTSTART:20260330T140000Z\r\n");
	assert_null(strstr(buffer, "DTEND"));
}

static void escapes(void **state)
{
	(void)state;
	put("a,b;c\\d", "", "astm-c39");
	expect("SUMMARY:test a\\,b\\;c\\\\d (28 d)\r\n");
}

/* Each line has at most 75 octets, ends with CR LF and begins with whole characters; unfolded it
 * is what was meant. */
static void folding(void **state)
{
	(void)state;
	static char unfolded[sizeof buffer];
	/* 47 bytes of two-byte characters and one of one: cuts fall within characters */
	put("x\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4"
	    "\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4",
		"a set with a name as long as names may be, 47 b", "astm-c39");
	size_t lines = 0, length = 0;
	for (const char *line = buffer; *line; lines++) {
		size_t octets = strcspn(line, "\r\n");
		assert_true(octets <= 75);
		assert_memory_equal(line + octets, "\r\n", 2);
		assert_int_not_equal((unsigned char)line[*line == ' '] & 0xc0, 0x80);
		if (*line == ' ')
			length -= 2;
		size_t skip = *line == ' ';
		memcpy(unfolded + length, line + skip, octets + 2 - skip);
		length += octets + 2 - skip;
		line += octets + 2;
	}
	unfolded[length] = '\0';
	assert_int_equal(lines, 14);
	assert_non_null(
		strstr(unfolded, "set a set with a name as long as names may be\\, 47 b\\;"));
	assert_non_null(strstr(unfolded, "\u00e4\u00e4 (28 d)\r\n"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(an_event),
		cmocka_unit_test(a_moment),
		cmocka_unit_test(escapes),
		cmocka_unit_test(folding),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
