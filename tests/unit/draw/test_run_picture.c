/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "base/units.h"
#include "draw/run_picture.h"
#include "pages.h"

#include <math.h>
#include <stdio.h>

enum { COUNT = 601 };
static struct sample samples[COUNT];
static struct outcome outcome;
static const struct run_curve curve = {samples, COUNT, {.ns = 5000}, &outcome};
static const struct run_picture picture = {
	.curve = &curve, .name = "pier-2-A", .detail = "run 12 on north"};

static void add_event(size_t sample, enum event_kind kind, const char *text)
{
	struct judgement *judgement = &outcome.judgement;
	struct event *event = &judgement->events[judgement->event_count++];
	event->kind = kind;
	event->time = samples[sample].time;
	event->load_un = samples[sample].load_un;
	snprintf(event->text, sizeof(event->text), "%s", text);
	judgement->event_total++;
}

/* 10 Hz, 2 kN/s for 50 s on 0.008 m2 (0.25 MPa/s), then nothing. */
static int set_up(void **state)
{
	(void)state;
	memset(&outcome, 0, sizeof(outcome));
	for (int64_t i = 0; i < COUNT; i++) {
		samples[i] = (struct sample){.time.ns = 5000 + i * (CLOCKS_NS_PER_S / 10),
			.load_un = i <= 500 ? i * 200 * UNITS_UN_PER_N : 0};
	}
	outcome.method = method_find("astm-c39");
	outcome.area_m2 = 0.008;
	outcome.judgement.maximum_at = samples[500].time;
	outcome.judgement.maximum_un = samples[500].load_un;
	outcome.judgement.basis = BASIS_MAXIMUM;
	snprintf(outcome.strength_reported, sizeof(outcome.strength_reported), "12.5 MPa");
	struct rate *rate = &outcome.judgement.rate;
	rate->verdict = VERDICT_IN_BAND;
	snprintf(rate->reason, sizeof(rate->reason), "0.250 MPa/s throughout");
	rate->band_low_pa_s = 0.2e6;
	rate->band_high_pa_s = 0.3e6;
	rate->from = samples[250].time;
	rate->to = samples[450].time;
	rate->window_ns = 5 * CLOCKS_NS_PER_S;
	rate->lowest_pa_s = rate->highest_pa_s = 0.25e6;
	return 0;
}

/* No two lines of text touch, and none leaves the page. */
static void check_legible(const struct page *page)
{
	for (size_t i = 0; i < page->mark_count; i++) {
		const struct page_mark *a = &page->marks[i];
		if (a->kind != PAGE_MARK_TEXT)
			continue;
		struct page_box body = pages_body(a);
		if (body.x < 0 || body.y < 0 || body.x + body.width > page->width ||
			body.y + body.height > page->height)
			fail_msg("'%s' leaves the page", page->text + a->first);
		for (size_t j = 0; j < i; j++) {
			const struct page_mark *b = &page->marks[j];
			if (b->kind == PAGE_MARK_TEXT && pages_overlap(body, pages_body(b)))
				fail_msg("'%s' and '%s' overlap", page->text + a->first,
					page->text + b->first);
		}
	}
}

static size_t count_marks(const struct page *page, enum page_mark_kind kind, enum page_ink ink)
{
	size_t count = 0;
	for (size_t i = 0; i < page->mark_count; i++)
		count += page->marks[i].kind == kind && page->marks[i].ink == ink;
	return count;
}

static void says_what_it_shows(void **state)
{
	struct page *page = run_picture_page(&picture);
	(void)state;
	static const char *const texts[] = {"pier-2-A", "run 12 on north", "12.5 MPa", "load, kN",
		"stress rate, MPa/s, slope over 5.0 s", "judged span", "25.0 to 45.0 s", "100.0 kN",
		"at 50.0 s", "broken", "0.30", "0.20", "time, s",
		"Rate in band, on the maximum load: 0.250 MPa/s throughout."};
	for (size_t i = 0; i < sizeof(texts) / sizeof(*texts); i++) {
		if (!pages_find(page, texts[i]))
			fail_msg("'%s' is not in the picture", texts[i]);
	}
	check_legible(page);
	/* Nothing to alert to. */
	assert_int_equal(count_marks(page, PAGE_MARK_LINE, PAGE_INK_ALERT), 0);
	page_destroy(page);
}

static void maximum_and_span_stand_where_they_were(void **state)
{
	struct page *page = run_picture_page(&picture);
	const struct page_mark *ten = pages_find(page, "10"), *fifty = pages_find(page, "50");
	const struct page_mark *ring = NULL, *span = NULL;
	(void)state;
	for (size_t i = 0; i < page->mark_count; i++) {
		const struct page_mark *mark = &page->marks[i];
		if (mark->kind == PAGE_MARK_RING && !ring)
			ring = mark;
		if (mark->kind == PAGE_MARK_AREA && mark->ink == PAGE_INK_SPAN)
			span = mark;
	}
	/* The labels of time stand with their middles below the ticks; the load has other ones. */
	double second =
		(fifty->box.x + fifty->box.width / 2 - ten->box.x - ten->box.width / 2) / 40;
	double left = ten->box.x + ten->box.width / 2 - 10 * second;
	check_near(ring->box.x, left + 50 * second, 0.01);
	check_near(span->box.x, left + 25 * second, 0.01);
	check_near(span->box.width, 20 * second, 0.01);
	page_destroy(page);
}

static void outside_is_heavy_and_ringed(void **state)
{
	struct rate *rate = &outcome.judgement.rate;
	(void)state;
	rate->verdict = VERDICT_OUT_OF_BAND;
	rate->band_low_pa_s = 0.26e6;
	rate->band_high_pa_s = 0.39e6;
	rate->worst = samples[300].time;
	struct page *page = run_picture_page(&picture);
	assert_int_equal(count_marks(page, PAGE_MARK_LINE, PAGE_INK_ALERT), 1);
	assert_int_equal(count_marks(page, PAGE_MARK_RING, PAGE_INK_ALERT), 1);
	check_legible(page);
	page_destroy(page);
}

static void events_are_numbered_and_kept_apart(void **state)
{
	struct page *page;
	(void)state;
	add_event(100, EVENT_STALL, "the load stood still for 2.1 s");
	for (size_t i = 0; i < 19; i++)
		add_event(440 + i / 4, EVENT_SPIKE, "a reading that its neighbours deny");
	page = run_picture_page(&picture);
	assert_non_null(pages_find(page, "10.0 s stall: the load stood still for 2.1 s"));
	assert_non_null(pages_find(page, "12"));
	assert_null(pages_find(page, "13"));
	assert_non_null(pages_find(page, "and 8 more events"));
	assert_int_equal(count_marks(page, PAGE_MARK_DOT, PAGE_INK_ALERT), 12);
	check_legible(page);
	page_destroy(page);
}

/* At the very right, where the numbers must move to the left. */
static void events_at_the_end(void **state)
{
	(void)state;
	for (size_t i = 0; i < 6; i++)
		add_event(COUNT - 1, EVENT_ZERO_OFFSET, "the unloaded press reads 0.4 kN");
	struct page *page = run_picture_page(&picture);
	check_legible(page);
	page_destroy(page);
}

/* At the very left, where they must not run into the title of the load. */
static void events_at_the_beginning(void **state)
{
	(void)state;
	for (size_t i = 0; i < 6; i++)
		add_event(0, EVENT_GAP, "no readings for 0.4 s");
	struct page *page = run_picture_page(&picture);
	check_legible(page);
	page_destroy(page);
}

static void without_a_rate(void **state)
{
	(void)state;
	outcome.area_m2 = 0;
	outcome.judgement.rate = (struct rate){.reason = "there is no specimen"};
	struct page *page = run_picture_page(&picture);
	assert_non_null(pages_find(page, "Rate not judged: there is no specimen."));
	assert_non_null(pages_find(page, "time, s"));
	check_legible(page);
	page_destroy(page);
}

static void narrow_band_and_interrupted_at_the_maximum(void **state)
{
	(void)state;
	for (size_t i = 500; i < COUNT; i++)
		samples[i].load_un = samples[500].load_un;
	outcome.judgement.end = END_INTERRUPTED;
	outcome.judgement.rate.band_low_pa_s = 0.24e6;
	outcome.judgement.rate.band_high_pa_s = 0.26e6;
	struct page *page = run_picture_page(&picture);
	assert_non_null(pages_find(page, "interrupted"));
	check_legible(page);
	page_destroy(page);
}

static void inch_pound(void **state)
{
	(void)state;
	outcome.method = method_find("astm-c39-inch-pound");
	struct page *page = run_picture_page(&picture);
	assert_non_null(pages_find(page, "load, lbf"));
	/* 100 kN / 4.4482216152605 N */
	assert_non_null(pages_find(page, "22481 lbf"));
	check_legible(page);
	page_destroy(page);
}

/* A peak one sample wide must be seen, however many samples there are. */
static void long_runs_keep_their_peak(void **state)
{
	static struct sample many[100000];
	const struct run_curve long_curve = {many, 100000, {0}, &outcome};
	const struct run_picture long_picture = {
		.curve = &long_curve, .name = "long", .detail = ""};
	(void)state;
	for (int64_t i = 0; i < 100000; i++)
		many[i] = (struct sample){.time.ns = i * 1000000, .load_un = UNITS_UN_PER_N * 1000};
	many[54321].load_un = 100 * 1000 * UNITS_UN_PER_N;
	outcome.judgement.maximum_un = many[54321].load_un;
	outcome.judgement.maximum_at = many[54321].time;
	struct page *page = run_picture_page(&long_picture);
	double highest = page->height, ring = 0;
	for (size_t i = 0; i < page->mark_count; i++) {
		const struct page_mark *mark = &page->marks[i];
		if (mark->kind == PAGE_MARK_RING && ring <= 0)
			ring = mark->box.y;
		for (size_t j = 0; mark->kind == PAGE_MARK_LINE && mark->clipped && j < mark->count;
			j++)
			highest = fmin(highest, page->points[mark->first + j].y);
	}
	check_near(highest, ring, 0.01);
	assert_true(page->point_count < 20000);
	page_destroy(page);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(says_what_it_shows, set_up),
		cmocka_unit_test_setup(maximum_and_span_stand_where_they_were, set_up),
		cmocka_unit_test_setup(outside_is_heavy_and_ringed, set_up),
		cmocka_unit_test_setup(events_are_numbered_and_kept_apart, set_up),
		cmocka_unit_test_setup(events_at_the_end, set_up),
		cmocka_unit_test_setup(events_at_the_beginning, set_up),
		cmocka_unit_test_setup(without_a_rate, set_up),
		cmocka_unit_test_setup(narrow_band_and_interrupted_at_the_maximum, set_up),
		cmocka_unit_test_setup(inch_pound, set_up),
		cmocka_unit_test_setup(long_runs_keep_their_peak, set_up),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
