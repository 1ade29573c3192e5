/* SPDX-License-Identifier: MIT
 *
 * The simulator's faults without a device: rules as written, when they strike, what they do to the
 * bytes, and what the decoder and the stream make of those. Whatever is on the wire, a reading that
 * comes out is a load that was sent.
 */
#include "wire.h"

#include "base/units.h"
#include "judge/judge.h"
#include "measure/decoder.h"
#include "measure/stream.h"
#include "measure/sum.h"
#include "result/method.h"
#include "unit/check.h"

#include <string.h>

enum { LINES = 400, LINE_NS = 10 * 1000 * 1000 };

static const struct decoder_setup standard;
static const struct dialect_setup setup = {.unit = UNIT_KILONEWTON, .decimals = 2};

static struct faults_rule parse(const char *text)
{
	struct message why = {""};
	struct faults_rule rule;
	if (!faults_parse(text, &rule, &why))
		fail_msg("%s", why.text);
	return rule;
}

static void test_rules_as_written(void **state)
{
	struct faults_rule rule = parse("garbage=0.25");
	(void)state;
	assert_int_equal(rule.kind, FAULTS_GARBAGE);
	check_near(rule.probability, 0.25, 0);
	assert_true(rule.at_s < 0);
	rule = parse("baud,at=1.5,for=0.25,ratio=2");
	assert_int_equal(rule.kind, FAULTS_BAUD);
	check_near(rule.at_s, 1.5, 0);
	check_near(rule.for_s, 0.25, 0);
	check_near(rule.value, 2, 0);
	/* Until it is mended where nothing else is said, else for the kind's own time. */
	assert_true(isinf(parse("burst,lines=3").for_s));
	check_near(parse("unplug,at=0").for_s, 2, 0);
	check_near(parse("spike=0.1").value, 50000, 0);
}

static void test_rules_that_are_none(void **state)
{
	static const char *const wrong[] = {"", "fire", "garbage=", "garbage=2", "garbage=x",
		"half,for=1", "baud,ratio=0", "baud,ratio", "stuck,at=-1", "stuck,lines=2",
		"stuck,", "spike=0.1,newton=1e9", "a-name-longer-than-any-of-them"};
	(void)state;
	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		struct message why = {""};
		struct faults_rule rule;
		if (faults_parse(wrong[i], &rule, &why))
			fail_msg("'%s' was taken", wrong[i]);
		assert_non_null(strstr(why.text, wrong[i]));
	}
}

static void test_help_names_every_kind(void **state)
{
	(void)state;
	for (int kind = 0; kind < FAULTS_COUNT; kind++) {
		const char *name = faults_name((enum faults_kind)kind);
		assert_non_null(strstr(faults_help(), name));
		assert_int_equal(faults_find(name), kind);
	}
}

/* ---- when */

static void test_chance_is_as_often_as_asked(void **state)
{
	struct faults_plan plan = {{parse("garbage=0.01"), parse("spike=0.1")}, 2};
	struct faults faults;
	struct random random;
	int garbage = 0, spikes = 0;
	(void)state;
	random_init(&random, 7);
	faults_init(&faults, &plan);
	for (int i = 0; i < 100000; i++) {
		faults_step(&faults, &random, i, -1);
		garbage += faults.in_force[FAULTS_GARBAGE];
		spikes += faults.in_force[FAULTS_SPIKE];
		assert_false(faults.in_force[FAULTS_UNPLUG]);
	}
	/* five standard deviations of the binomial distribution */
	check_near(garbage, 1000, 160);
	check_near(spikes, 10000, 475);
}

/* Lines of a curve of 2 s in which the kind is in force. */
static int count_in_force(struct faults *faults, enum faults_kind kind, int64_t from_ns, int *first)
{
	struct random random;
	int count = 0;
	random_init(&random, 1);
	*first = -1;
	for (int i = 0; i < 200; i++) {
		int64_t since_ns = (int64_t)i * LINE_NS;
		faults_step(faults, &random, from_ns + since_ns, since_ns);
		if (faults->in_force[kind] && *first < 0)
			*first = i;
		count += faults->in_force[kind];
	}
	return count;
}

static void test_once_in_each_curve(void **state)
{
	struct faults_plan plan = {{parse("stuck,at=0.5,for=0.25"), parse("half,at=1")}, 2};
	struct faults faults;
	int first = 0;
	(void)state;
	faults_init(&faults, &plan);
	for (int64_t curve = 0; curve < 3; curve++) {
		int64_t from_ns = curve * 10 * CLOCKS_NS_PER_S;
		assert_int_equal(count_in_force(&faults, FAULTS_STUCK, from_ns, &first), 25);
		assert_int_equal(first, 50);
		from_ns += 5 * CLOCKS_NS_PER_S;
		assert_int_equal(count_in_force(&faults, FAULTS_HALF, from_ns, &first), 1);
		assert_int_equal(first, 100);
	}
}

static void test_commands(void **state)
{
	const struct faults_plan plan = {.count = 0};
	struct faults faults;
	struct random random;
	(void)state;
	random_init(&random, 1);
	faults_init(&faults, &plan);
	faults_begin(&faults, FAULTS_HALF);
	faults_begin(&faults, FAULTS_SILENCE);
	faults_step(&faults, &random, 0, -1);
	assert_true(faults.in_force[FAULTS_HALF] && faults.in_force[FAULTS_SILENCE]);
	faults_step(&faults, &random, 1, -1);
	assert_true(!faults.in_force[FAULTS_HALF] && faults.in_force[FAULTS_SILENCE]);
	faults_mend(&faults);
	faults_step(&faults, &random, 2, -1);
	assert_false(faults.in_force[FAULTS_SILENCE]);
}

/* ---- what comes of it */

struct heard {
	struct stream stream;
	int count, wrong; /* readings; those whose load was never sent */
	int64_t last;     /* mantissa */
	bool other_unit;  /* some were in pounds-force */
	size_t byte_count;
	unsigned lowest, highest; /* readings that came with one write */
};

static void take(void *context, const struct reading *reading)
{
	struct heard *heard = context;
	heard->count++;
	heard->other_unit |= reading->unit == UNIT_POUND_FORCE;
	if (reading->unit != UNIT_KILONEWTON || reading->value.exponent != -2)
		heard->wrong++;
	else if (reading->value.mantissa % 7 != 0 || reading->value.mantissa < heard->last)
		heard->wrong++;
	else
		heard->last = reading->value.mantissa;
}

/* Sends LINES loads that rise by 0.07 kN each, 100 a second. */
static void play(struct heard *heard, const char *fault, uint64_t seed)
{
	static char out[WIRE_OUT_MAX];
	static struct wire wire;
	struct faults_plan plan = {{parse(fault)}, 1};
	struct random random;
	random_init(&random, seed);
	wire_init(&wire, dialect_find("plain"), &setup, 100, &plan);
	*heard = (struct heard){.lowest = 1000};
	stream_init(&heard->stream, decoder_find("plain"), &standard, 10000);
	for (int i = 0; i < LINES; i++) {
		int64_t now_ns = (int64_t)i * LINE_NS;
		int before = heard->count;
		faults_step(&wire.faults, &random, now_ns, now_ns);
		size_t length = wire_write(&wire, &random, 70.0 * i, out);
		assert_true(length <= sizeof out);
		heard->byte_count += length;
		if (length > 0)
			stream_feed(&heard->stream, (unsigned char *)out, length,
				(struct mono_time){now_ns}, take, heard);
		unsigned came = (unsigned)(heard->count - before);
		heard->lowest = came < heard->lowest ? came : heard->lowest;
		heard->highest = came > heard->highest ? came : heard->highest;
	}
}

/* Each seed: at least so many readings, and none that was not sent. */
static void check_survived(const char *fault, int least)
{
	for (uint64_t seed = 1; seed <= 20; seed++) {
		struct heard heard;
		play(&heard, fault, seed);
		if (heard.wrong > 0 || heard.count < least)
			fail_msg("%s, seed %d: %d readings, %d of them never sent", fault,
				(int)seed, heard.count, heard.wrong);
	}
}

static void test_no_fault_no_difference(void **state)
{
	(void)state;
	check_survived("garbage=0", LINES - 1);
}

/* The check can fail: a spike is a line like any other. */
static void test_a_spike_is_taken_for_a_load(void **state)
{
	struct heard heard;
	(void)state;
	play(&heard, "spike=0.1", 1);
	assert_true(heard.wrong > 10);
}

static void test_spoilt_lines_give_no_readings(void **state)
{
	(void)state;
	check_survived("drop=0.1", 300);
	check_survived("nul=0.2", 250);
	check_survived("half=0.1", 250);
	check_survived("garbage=0.1", 250);
	check_survived("endless,at=1,for=1", 290);
	check_survived("silence,at=1,for=1", 290);
	check_survived("reboot,at=1,for=1", 290);
	check_survived("flood,at=1,for=0.1", LINES);
	check_survived("burst", LINES - 2);
	check_survived("burst,lines=100", LINES - 1);
	check_survived("stuck,at=1,for=1", LINES - 1);
}

/* A wrong speed turns text into noise: with a line of kilonewtons nothing that can be taken for a
 * load comes of it. */
static void test_wrong_speed(void **state)
{
	static const char *const ratios[] = {"baud,at=1,for=1,ratio=0.5",
		"baud,at=1,for=1,ratio=0.25", "baud,at=1,for=1,ratio=2", "baud,at=1,for=1,ratio=3",
		"baud,at=1,for=1,ratio=0.9"};
	(void)state;
	for (size_t i = 0; i < sizeof ratios / sizeof *ratios; i++)
		check_survived(ratios[i], 290);
}

static void test_other_unit_is_said(void **state)
{
	struct heard heard;
	(void)state;
	play(&heard, "unit,at=1,for=1", 1);
	assert_true(heard.other_unit);
	assert_int_equal(heard.wrong, 100);
	assert_int_equal(heard.count, LINES - 1);
}

static void test_a_million_bytes_without_an_end(void **state)
{
	struct heard heard;
	(void)state;
	play(&heard, "endless,at=1,for=1,rate=1e6", 1);
	check_near((double)heard.byte_count, 1e6 + 300 * 13, 2000);
	assert_true(heard.stream.error_count > 0);
	assert_int_equal(heard.stream.last_error, DECODER_TOO_LONG);
}

static void test_flood_fills_the_line(void **state)
{
	struct heard heard;
	(void)state;
	play(&heard, "flood", 1);
	/* 921600 baud, ten bits a byte, 4 s */
	check_near((double)heard.byte_count, 92160 * 4, 92160 * 4 * 0.02);
	assert_int_equal(heard.wrong, 0);
}

static void test_lines_come_together(void **state)
{
	struct heard heard;
	(void)state;
	play(&heard, "burst,lines=5", 1);
	assert_int_equal(heard.lowest, 0);
	assert_int_equal(heard.highest, 5);
}

/* ---- what the judge makes of it */

static void judge_sample(void *context, const struct sample *sample)
{
	judge_feed(context, sample);
}

struct judged {
	struct stream stream;
	struct sum sum;
	struct judge *judge;
};

static void judge_reading(void *context, const struct reading *reading)
{
	struct judged *judged = context;
	sum_feed(&judged->sum, 0, reading, judge_sample, judged->judge);
}

enum { RAMP_LINES = 1200, RAMP_NEWTON = 20 };

/* What one write brings, in one read or one byte a read. */
static void feed_ramp(
	struct judged *judged, const char *out, size_t length, bool bytewise, int64_t now_ns)
{
	size_t part = bytewise ? 1 : length;
	for (size_t at = 0; at < length; at += part)
		stream_feed(&judged->stream, (const unsigned char *)out + at, part,
			(struct mono_time){now_ns + (int64_t)at * 10850}, judge_reading, judged);
}

/* Unloaded for a second, 2 kN/s for eleven, then off; at 921600 baud. */
static void play_ramp(struct judged *judged, const char *fault, struct judgement *judgement)
{
	static const struct scale scale = {.unit = UNIT_KILONEWTON, .factor = {1, 0}};
	static char out[WIRE_OUT_MAX];
	static struct wire wire;
	struct faults_plan faults = {{parse(fault)}, 1};
	struct random random;
	struct plan plan;
	bool away = false;
	random_init(&random, 1);
	assert_true(method_plan(method_find("astm-c39"), NULL, &plan, NULL));
	plan.contact_un = 400 * UNITS_UN_PER_N;
	wire_init(&wire, dialect_find("plain"), &setup, 100, &faults);
	stream_init(&judged->stream, decoder_find("plain"), &standard, 10850);
	sum_init(&judged->sum, 1, &scale, 2000000 * UNITS_UN_PER_N);
	judge_start(judged->judge, &plan);
	for (int i = 0; i < RAMP_LINES + 200; i++) {
		int64_t now_ns = (int64_t)i * LINE_NS;
		double load = i < 100 || i > RAMP_LINES ? 0 : RAMP_NEWTON * (i - 100.0);
		faults_step(&wire.faults, &random, now_ns, now_ns);
		size_t length = wire_write(&wire, &random, load, out);
		bool gone = wire.faults.in_force[FAULTS_UNPLUG];
		if (away && !gone) /* as cell.c does with a port that is opened again */
			stream_reset(&judged->stream);
		away = gone;
		if (!gone)
			feed_ramp(judged, out, length, wire.faults.in_force[FAULTS_BYTES],
				now_ns + 1);
	}
	judge_finish(judged->judge, judgement);
}

static bool has_event(const struct judgement *judgement, enum event_kind kind)
{
	for (size_t i = 0; i < judgement->event_count; i++)
		if (judgement->events[i].kind == kind)
			return true;
	return false;
}

/* The faults that leave a hole in a run, and a loop that was stopped for a second and then read a
 * hundred lines at once: the run says so, has its maximum, and nothing that was not there. */
static void test_holes_are_gaps(void **state)
{
	static const struct {
		const char *fault;
		enum event_kind event;
	} holes[] = {
		{"burst,at=6,for=1,lines=101", EVENT_LATE},
		{"silence,at=6,for=1", EVENT_GAP},
		{"reboot,at=6,for=1", EVENT_GAP},
		{"baud,at=6,for=1", EVENT_GAP},
		{"unit,at=6,for=1", EVENT_GAP},
		{"endless,at=6,for=1", EVENT_GAP},
		{"unplug,at=6,for=1", EVENT_GAP},
	};
	static struct judgement judgement;
	static struct judged judged;
	(void)state;
	judged.judge = judge_create(2 * RAMP_LINES);
	for (size_t i = 0; i < sizeof holes / sizeof *holes; i++) {
		play_ramp(&judged, holes[i].fault, &judgement);
		if (!has_event(&judgement, holes[i].event) || has_event(&judgement, EVENT_SHOCK) ||
			has_event(&judgement, EVENT_STALL) || has_event(&judgement, EVENT_SPIKE) ||
			has_event(&judgement, EVENT_DROP))
			fail_msg("%s: events that are not true", holes[i].fault);
		assert_int_equal(judgement.end, END_BROKEN);
		check_near((double)judgement.maximum_un * 1e-6, RAMP_NEWTON * (RAMP_LINES - 100.0),
			1e-6);
	}
	/* before the run, and after it */
	static const char *const harmless[] = {"burst,lines=2", "bytes", "flood,at=6,for=1",
		"unplug,at=0.2,for=0.5", "unplug,at=13,for=0.5"};
	for (size_t i = 0; i < sizeof harmless / sizeof *harmless; i++) {
		play_ramp(&judged, harmless[i], &judgement);
		if (judgement.event_count != 0)
			fail_msg("%s: %s", harmless[i], judgement.events[0].text);
		check_near((double)judgement.maximum_un * 1e-6, RAMP_NEWTON * (RAMP_LINES - 100.0),
			1e-6);
	}
	play_ramp(&judged, "stuck,at=6,for=1", &judgement);
	assert_true(has_event(&judgement, EVENT_STUCK));
	judge_destroy(judged.judge);
}

/* ---- framing */

static void test_right_speed_changes_nothing(void **state)
{
	char out[4 * 256 + 4], all[256];
	(void)state;
	for (int i = 0; i < 256; i++)
		all[i] = (char)i;
	assert_int_equal(wire_resample(all, sizeof all, 1, out), sizeof all);
	assert_memory_equal(out, all, sizeof all);
	/* Two in a hundred is what UARTs live with. */
	assert_int_equal(wire_resample(all, 1, 1.02, out), 1);
}

/* At half the speed two bits look like one: 'U', 01010101 with its start and stop bits around it,
 * worked out by hand from the levels at 3, 5, 7 ... bit times. */
static void test_half_the_speed(void **state)
{
	char out[16];
	(void)state;
	size_t count = wire_resample("U", 1, 0.5, out);
	assert_int_equal(count, 1);
	/* from the falling edge at 0 the looks are at 3, 5, 7, 9: bits 2, 4, 6 (all 1), stop; then
	 * the line is at rest */
	assert_int_equal((unsigned char)out[0], 0xff);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_rules_as_written),
		cmocka_unit_test(test_rules_that_are_none),
		cmocka_unit_test(test_help_names_every_kind),
		cmocka_unit_test(test_chance_is_as_often_as_asked),
		cmocka_unit_test(test_once_in_each_curve),
		cmocka_unit_test(test_commands),
		cmocka_unit_test(test_no_fault_no_difference),
		cmocka_unit_test(test_a_spike_is_taken_for_a_load),
		cmocka_unit_test(test_spoilt_lines_give_no_readings),
		cmocka_unit_test(test_wrong_speed),
		cmocka_unit_test(test_other_unit_is_said),
		cmocka_unit_test(test_a_million_bytes_without_an_end),
		cmocka_unit_test(test_flood_fills_the_line),
		cmocka_unit_test(test_lines_come_together),
		cmocka_unit_test(test_holes_are_gaps),
		cmocka_unit_test(test_right_speed_changes_nothing),
		cmocka_unit_test(test_half_the_speed),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
