/* SPDX-License-Identifier: MIT
 *
 * Requests: what the client writes is what the daemon reads, and whatever else comes is refused
 * with a reason.
 */
#include "unit/check.h"
#include "wire/request.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define HASH "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff"
/* An issued report with all that it must have, and what is given. */
#define REPORT(rest) \
	"{\"ask\":\"report\",\"report\":{\"number\":1,\"set\":true,\"subject\":\"a\"," \
	"\"format\":\"pdf\",\"at\":\"2026-03-01\"," rest "}}"

static const struct specimen SPECIMEN = {
	.id = "S-17",
	.set = "pour 4, \"north\" wall",
	.shape = SHAPE_CYLINDER,
	.width_um = {100250, 99750},
	.length_um = 201000,
	.cast = {INT64_C(1772460309250000000)},
	.anticipated_pa = 31.5e6,
	.method = "astm-c39",
	.chosen_rate_pa_s = 0.25e6,
};

/* Writes, reads, and hands back what was read. */
static struct request round_trip(const struct request *request)
{
	struct request read;
	struct message why = {""};
	char *line = request_line(request);

	assert_non_null(line);
	size_t length = strlen(line);
	assert_int_equal(line[length - 1], '\n');
	if (!request_read(line, length - 1, &read, &why))
		fail_msg("%s: %s", line, why.text);
	free(line);
	assert_int_equal(read.ask, request->ask);
	assert_true(json_equal(read.id, request->id) || (!read.id && !request->id));
	return read;
}

static void test_register_round_trip(void **state)
{
	struct request request = {.ask = REQUEST_REGISTER, .specimen = SPECIMEN};

	(void)state;
	detail_init(&request.detail);
	request.id = json_string("a question");
	struct request read = round_trip(&request);
	assert_string_equal(read.specimen.id, SPECIMEN.id);
	assert_string_equal(read.specimen.set, SPECIMEN.set);
	assert_int_equal(read.specimen.shape, SPECIMEN.shape);
	assert_int_equal(read.specimen.width_um[0], SPECIMEN.width_um[0]);
	assert_int_equal(read.specimen.width_um[1], SPECIMEN.width_um[1]);
	assert_int_equal(read.specimen.length_um, SPECIMEN.length_um);
	assert_int_equal(read.specimen.cast.ns, SPECIMEN.cast.ns);
	check_near(read.specimen.anticipated_pa, SPECIMEN.anticipated_pa, 1e-6);
	assert_string_equal(read.specimen.method, SPECIMEN.method);
	check_near(read.specimen.chosen_rate_pa_s, SPECIMEN.chosen_rate_pa_s, 1e-9);
	request_finish(&read);
	request_finish(&request);
}

static void test_other_round_trips(void **state)
{
	struct request watch = {.ask = REQUEST_WATCH, .press = "north", .interval_ms = 0};
	struct request seat = {.ask = REQUEST_SEAT, .press = "north", .specimen_id = "S-17"};
	struct request fracture = {.ask = REQUEST_FRACTURE,
		.run = 12,
		.type = 3,
		.crack_um = 140500,
		.note = "cap slipped\n"};

	(void)state;
	struct request read = round_trip(&watch);
	assert_string_equal(read.press, "north");
	assert_int_equal(read.interval_ms, 0);
	request_finish(&read);
	read = round_trip(&seat);
	assert_string_equal(read.press, "north");
	assert_string_equal(read.specimen_id, "S-17");
	request_finish(&read);
	read = round_trip(&fracture);
	assert_int_equal(read.run, 12);
	assert_int_equal(read.type, 3);
	assert_int_equal(read.crack_um, 140500);
	assert_string_equal(read.note, "cap slipped\n");
	request_finish(&read);
}

static void test_details_round_trip(void **state)
{
	struct request request = {.ask = REQUEST_REGISTER,
		.specimen = SPECIMEN,
		.detail = {.intended_age_ns = INT64_C(2419200) * 1000000000,
			.mass_mg = 12950001,
			.ends = DETAIL_ENDS_UNBONDED,
			.pad = "P 7",
			.pad_hardness = 70,
			.out_of_square_udeg = 310000,
			.out_of_plane_um = 0,
			.moist = DETAIL_MOIST_NO,
			.lot = "steel 3",
			.reduced = true,
			.width_count = 3,
			.length_count = 1,
			.widths_um = {100001, 100250, 100500},
			.lengths_um = {199999}}};
	struct request without = {.ask = REQUEST_REGISTER, .specimen = SPECIMEN};

	(void)state;
	struct request read = round_trip(&request);
	assert_memory_equal(&read.detail, &request.detail, sizeof read.detail);
	request_finish(&read);
	detail_init(&without.detail);
	read = round_trip(&without);
	assert_true(detail_is_empty(&read.detail));
	request_finish(&read);
}

static void test_terms_round_trip(void **state)
{
	struct request request = {.ask = REQUEST_SET_TERMS,
		.terms = {"quay-7", "quay", ACCEPTANCE_EN_206_CONTINUOUS, 30e6, 2.5e6, true}};

	(void)state;
	struct request read = round_trip(&request);
	assert_string_equal(read.terms.set, "quay-7");
	assert_string_equal(read.terms.series, "quay");
	assert_int_equal(read.terms.rule, request.terms.rule);
	check_near(read.terms.specified_pa, 30e6, 1e-6);
	check_near(read.terms.sigma_pa, 2.5e6, 1e-6);
	assert_true(read.terms.field);
	request_finish(&read);
}

static void test_confirmation_round_trip(void **state)
{
	struct request request = {.ask = REQUEST_CONFIRM_METHOD,
		.method = "astm-c39",
		.edition = "C39M-21",
		.note = "pages 1 to 9",
		.method_text = "; a \"text\"\n[method]\nname = astm-c39\n"};

	(void)state;
	struct request read = round_trip(&request);
	assert_string_equal(read.method, request.method);
	assert_string_equal(read.method_text, request.method_text);
	assert_string_equal(read.edition, request.edition);
	assert_string_equal(read.note, request.note);
	request_finish(&read);
}

static void test_report_round_trip(void **state)
{
	struct request request = {.ask = REQUEST_REPORT,
		.issued = {.number = 8,
			.is_set = true,
			.subject = "pour 4, \"north\" wall",
			.at = {INT64_C(1772460309) * CLOCKS_NS_PER_S},
			.laboratory = "Kaiwerk",
			.reviewer = "Ines",
			.field = true,
			.replaces = 7,
			.reason = "mistyped",
			.format = "pdf",
			.hash = HASH,
			.run_count = 3,
			.runs = {12, 13, 19}}};

	(void)state;
	struct request read = round_trip(&request);
	/* Member by member there are many, and none may be lost: all of it, bit for bit. */
	assert_memory_equal(&read.issued, &request.issued, sizeof read.issued);
	request_finish(&read);
}

static void test_defaults(void **state)
{
	static const char LINE[] = "{\"ask\":\"watch\",\"a later version's\":[1]}";
	struct request request;

	(void)state;
	assert_true(request_read(LINE, strlen(LINE), &request, NULL));
	assert_string_equal(request.press, "");
	assert_int_equal(request.interval_ms, REQUEST_INTERVAL_MS_DEFAULT);
	assert_null(request.id);
	request_finish(&request);
}

static void assert_refused(const char *line, const char *reason)
{
	struct request request;
	struct message why = {""};

	if (request_read(line, strlen(line), &request, &why))
		fail_msg("accepted: %s", line);
	if (!strstr(why.text, reason))
		fail_msg("%s: \"%s\" lacks \"%s\"", line, why.text, reason);
	request_finish(&request);
}

static void test_refusals(void **state)
{
	static const struct {
		const char *line;
		const char *why; /* must be part of the reason */
	} CASES[] = {
		{"", "not JSON"},
		{"{", "not JSON"},
		{"{\"ask\":\"status\"} x", "not JSON"},
		{"{\"ask\":\"status\",\"ask\":\"status\"}", "not JSON"},
		{"\xff", "not JSON"},
		{"[]", "not a JSON object"},
		{"7", "not JSON"},
		{"{}", "\"ask\" is missing"},
		{"{\"ask\":7}", "\"ask\" is not a text"},
		{"{\"ask\":\"stop\"}", "\"ask\" is \"stop\""},
		{"{\"ask\":\"a name that is far too long\"}", "too long"},
		{"{\"ask\":\"watch\",\"interval_ms\":-1}", "out of range"},
		{"{\"ask\":\"watch\",\"interval_ms\":1.5}", "whole number"},
		{"{\"ask\":\"watch\",\"interval_ms\":99999999}", "out of range"},
		{"{\"ask\":\"watch\",\"press\":\"a\\u0000b\"}", "not JSON"},
		{"{\"ask\":\"seat\",\"press\":\"north\"}", "\"specimen\" is missing"},
		{"{\"ask\":\"fracture\",\"run\":0,\"type\":1}", "\"run\" is out of range"},
		{"{\"ask\":\"fracture\",\"run\":1,\"type\":7}", "\"type\" is out of range"},
		{"{\"ask\":\"fracture\",\"run\":null,\"type\":7}", "\"run\" is missing"},
		{"{\"ask\":\"confirm_method\",\"method\":\"a\",\"text\":\"b\"}",
			"\"edition\" is missing"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"cube\","
		 "\"width_mm\":[100,100]},\"detail\":{\"ends\":\"glued\"}}",
			"as cast, ground, bonded or unbonded"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"cube\","
		 "\"width_mm\":[100,100]},\"detail\":{\"mass_kg\":-1}}",
			"below zero"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"cube\","
		 "\"width_mm\":[100,100]},\"detail\":{\"widths_mm\":[1,2,3,4,5,6,7,8,9]}}",
			"at most 8 lengths"},
		{"{\"ask\":\"set_terms\",\"terms\":{\"set\":\"a\",\"rule\":\"aci-318\"}}",
			"state it"},
		{"{\"ask\":\"register\"}", "\"specimen\" is missing"},
		{"{\"ask\":\"register\",\"specimen\":[]}", "the specimen is not"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"cube\"}}",
			"\"width_mm\" is missing"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"cube\","
		 "\"width_mm\":[100]}}",
			"list of two"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"cube\","
		 "\"width_mm\":[100,1e300]}}",
			"list of two"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"ball\","
		 "\"width_mm\":[100,100]}}",
			"cylinder or cube"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"cube\","
		 "\"width_mm\":[100,100],\"cast\":\"yesterday\"}}",
			"ISO 8601"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"a\",\"shape\":\"cube\","
		 "\"width_mm\":[100,100],\"anticipated_mpa\":-3}}",
			"out of range"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++)
		assert_refused(CASES[i].line, CASES[i].why);
}

static void test_refused_reports(void **state)
{
	static const struct {
		const char *line, *why;
	} CASES[] = {
		{"{\"ask\":\"report\"}", "\"report\" is missing"},
		{"{\"ask\":\"report\",\"report\":{\"number\":0}}", "\"number\" is"},
		{REPORT("\"hash\":\"" HASH "\",\"runs\":[]"), "0 entries"},
		{REPORT("\"hash\":\"" HASH "\",\"runs\":[0]"), "no number of a run"},
		{REPORT("\"runs\":[1],\"hash\":\"12\""), "64 hexadecimal digits"},
		{REPORT("\"runs\":[1],\"hash\":\"" HASH "\",\"reason\":\"why\""), "go together"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++)
		assert_refused(CASES[i].line, CASES[i].why);
}

/* The answer to a refused question must still find its asker. */
static void test_id_survives_refusal(void **state)
{
	static const char LINE[] = "{\"id\":{\"n\":[1]},\"ask\":\"stop\"}";
	struct request request;
	struct message why;

	(void)state;
	assert_false(request_read(LINE, strlen(LINE), &request, &why));
	json_t *answer = request_refusal(request.id, why.text);
	assert_true(json_equal(json_object_get(answer, "id"), request.id));
	assert_false(request_answer_read(answer, &why));
	assert_non_null(strstr(why.text, "\"stop\""));
	json_decref(answer);
	answer = request_answer(request.id);
	assert_true(request_answer_read(answer, &why));
	json_decref(answer);
	request_finish(&request);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_register_round_trip),
		cmocka_unit_test(test_other_round_trips),
		cmocka_unit_test(test_details_round_trip),
		cmocka_unit_test(test_terms_round_trip),
		cmocka_unit_test(test_confirmation_round_trip),
		cmocka_unit_test(test_report_round_trip),
		cmocka_unit_test(test_defaults),
		cmocka_unit_test(test_refusals),
		cmocka_unit_test(test_refused_reports),
		cmocka_unit_test(test_id_survives_refusal),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
