/* SPDX-License-Identifier: MIT */
#include "wire/live.h"
#include "wire/request.h"
#include "wire/verification_json.h"

#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

static struct request asking(enum request_ask ask)
{
	struct request request = {.ask = ask, .press = "north", .note = "new pump"};

	clocks_utc_parse("2026-03-02T14:05:09.250Z", &request.happened);
	request.upkeep = UPKEEP_REPAIR;
	request.verification = (struct verification){
		.verified = request.happened,
		.guided = true,
		.certificate = "LR-31",
		.reference = "load ring 7",
		.increment_un = 10000000,
		.resolution_un = INT64_C(12345678901234),
		.return_un = {-1, 2},
		.force_count = 2,
		.forces = {{{400000000001, 400000000002}, {400000000003, 400000000004},
				   {0.5, -0.25}},
			{.error_percent = {1, -1}}},
		.low_un = 5,
		.high_un = 6,
	};
	return request;
}

static struct request there_and_back(const struct request *request)
{
	struct request found;
	struct message why = {""};
	char *line = request_line(request);

	assert_non_null(line);
	if (!request_read(line, strlen(line) - 1, &found, &why))
		fail_msg("%s", why.text);
	free(line);
	assert_int_equal(found.ask, request->ask);
	assert_string_equal(found.press, request->press);
	request_finish(&found);
	return found;
}

static void a_verification_comes_over_the_wire(void **state)
{
	(void)state;
	struct request request = asking(REQUEST_VERIFICATION);
	struct request found = there_and_back(&request);
	const struct verification *one = &request.verification, *other = &found.verification;

	assert_int_equal(other->verified.ns, one->verified.ns);
	assert_true(other->guided);
	assert_string_equal(other->certificate, "LR-31");
	assert_string_equal(other->reference, "load ring 7");
	assert_int_equal(other->increment_un, one->increment_un);
	assert_int_equal(other->resolution_un, one->resolution_un);
	assert_memory_equal(other->return_un, one->return_un, sizeof(one->return_un));
	assert_int_equal(other->force_count, 2);
	for (size_t i = 0; i < 2; i++) {
		assert_memory_equal(other->forces[i].true_un, one->forces[i].true_un,
			sizeof(one->forces[i].true_un));
		assert_memory_equal(other->forces[i].indicated_un, one->forces[i].indicated_un,
			sizeof(one->forces[i].indicated_un));
		check_near(other->forces[i].error_percent[1], one->forces[i].error_percent[1], 0);
	}
	assert_int_equal(other->low_un, 5);
	assert_int_equal(other->high_un, 6);
}

static void upkeep_and_zero_come_over_the_wire(void **state)
{
	(void)state;
	struct request request = asking(REQUEST_UPKEEP);
	struct request found = there_and_back(&request);

	assert_int_equal(found.upkeep, UPKEEP_REPAIR);
	assert_int_equal(found.happened.ns, request.happened.ns);
	assert_string_equal(found.note, "new pump");
	request = asking(REQUEST_ZERO);
	found = there_and_back(&request);
	assert_string_equal(found.note, "new pump");
}

static void anything_else_is_refused(void **state)
{
	(void)state;
	static const char *const lines[] = {
		"{\"ask\":\"verification\",\"press\":\"n\"}",
		"{\"ask\":\"verification\",\"press\":\"n\",\"verification\":7}",
		"{\"ask\":\"verification\",\"press\":\"n\",\"verification\":{\"verified\":\"x\","
		"\"guided\":true,\"reference\":\"r\",\"increment_n\":1,\"resolution_n\":1,"
		"\"forces\":[]}}",
		"{\"ask\":\"verification\",\"press\":\"n\",\"verification\":{\"verified\":"
		"\"2026-01-01\",\"guided\":true,\"reference\":\"r\",\"increment_n\":1,"
		"\"resolution_n\":1,\"forces\":[{\"true_n\":[1]}]}}",
		"{\"ask\":\"verification\",\"press\":\"n\",\"verification\":{\"verified\":"
		"\"2026-01-01\",\"guided\":true,\"reference\":\"r\",\"increment_n\":1,"
		"\"resolution_n\":1,\"forces\":[{\"true_n\":[1,1e30]}]}}",
		"{\"ask\":\"verification\",\"press\":\"n\",\"verification\":{\"verified\":"
		"\"2026-01-01\",\"guided\":true,\"reference\":\"r\",\"increment_n\":1,"
		"\"resolution_n\":1,\"forces\":[1,2,3,4,5,6,7,8,9,10,11,12,13,14,15,16,17,18,19,"
		"20,21]}}",
		"{\"ask\":\"upkeep\",\"press\":\"n\",\"kind\":\"paint\"}",
		"{\"ask\":\"upkeep\",\"press\":\"n\",\"kind\":\"doubt\",\"happened\":\"soon\"}",
		"{\"ask\":\"zero\"}",
	};
	struct request request;
	struct message why;

	for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
		if (request_read(lines[i], strlen(lines[i]), &request, &why))
			fail_msg("%s was read", lines[i]);
		request_finish(&request);
	}
}

static void notices_come_over_the_wire(void **state)
{
	(void)state;
	const struct status_notices notices = {2, {"first", "second"}};
	struct live_line line;
	struct message why;
	json_t *sent = live_json_notices("north", &notices, false);
	char *text = json_dumps(sent, JSON_COMPACT);

	json_decref(sent);

	assert_true(live_read(text, strlen(text), &line, &why));
	assert_int_equal(line.kind, LIVE_NOTICES);
	assert_string_equal(line.press, "north");
	assert_false(line.reportable);
	assert_true(status_notices_equal(&line.notices, &notices));
	live_line_finish(&line);
	free(text);
	static const char *const refused[] = {"{\"press\":\"n\",\"notices\":7}",
		"{\"press\":\"n\",\"notices\":[7]}", "{\"notices\":[],\"reportable\":7}"};
	for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++)
		assert_false(live_read(refused[i], strlen(refused[i]), &line, &why));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_verification_comes_over_the_wire),
		cmocka_unit_test(upkeep_and_zero_come_over_the_wire),
		cmocka_unit_test(anything_else_is_refused),
		cmocka_unit_test(notices_come_over_the_wire),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
