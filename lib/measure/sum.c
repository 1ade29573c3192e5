/* SPDX-License-Identifier: MIT
 *
 * The sum of the cells. Every cell has a ring of points that wait. In the first cell's ring: the
 * instants for which no sample has come out yet. In every other cell's ring, once an instant has
 * been looked up: the last point before it, and all points from it on. A later instant is never
 * earlier, so what lies before that is not needed again, and each point is passed over once.
 */
#include "measure/sum.h"

#include "base/wide.h"

#include <assert.h>
#include <string.h>

void sum_init(struct sum *sum, size_t cell_count, const struct scale *scales, int64_t capacity_un)
{
	assert(cell_count >= 1 && cell_count <= SUM_CELLS_MAX);
	sum->cell_count = cell_count;
	memset(sum->scale, 0, sizeof(sum->scale));
	memcpy(sum->scale, scales, cell_count * sizeof(scales[0]));
	memset(sum->form, 0, sizeof(sum->form));
	sum->capacity_un = capacity_un;
	sum->lost = 0;
	sum_reset(sum);
}

void sum_reset(struct sum *sum)
{
	/* The points themselves are left alone: a press of one cell never touches their memory. */
	memset(sum->first, 0, sizeof(sum->first));
	memset(sum->count, 0, sizeof(sum->count));
	memset(sum->owed, 0, sizeof(sum->owed));
	sum->owed_sample = 0;
}

/* What stays with the press's load, whichever reading a sample is made of. */
static const unsigned lasting_marks = SAMPLE_LOST | SAMPLE_REPEATED | SAMPLE_OVER_RANGE;

static unsigned marks_of(unsigned status)
{
	return (status & READING_LATE ? SAMPLE_LATE : 0) |
	       (status & READING_LOST ? SAMPLE_LOST : 0) |
	       (status & READING_REPEATED ? SAMPLE_REPEATED : 0);
}

static struct sum_point *point_at(struct sum *sum, size_t cell, size_t index)
{
	assert(index < sum->count[cell]);
	return &sum->pending[cell][(sum->first[cell] + index) % SUM_PENDING];
}

static void drop_oldest(struct sum *sum, size_t cell)
{
	assert(sum->count[cell] > 0);
	sum->first[cell] = (sum->first[cell] + 1) % SUM_PENDING;
	sum->count[cell]--;
}

static void push(struct sum *sum, size_t cell, struct sum_point point)
{
	if (sum->count[cell] == SUM_PENDING) {
		drop_oldest(sum, cell);
		sum->lost += cell == 0;
	}
	sum->pending[cell][(sum->first[cell] + sum->count[cell]) % SUM_PENDING] = point;
	sum->count[cell]++;
}

static void emit(const struct sum *sum, int64_t time_ns, int64_t load_un, unsigned flags,
	sum_take *take, void *context)
{
	struct sample sample = {{time_ns}, load_un, flags};
	if (sum->capacity_un > 0 && load_un > sum->capacity_un)
		sample.flags |= SAMPLE_OVER_RANGE;
	take(context, &sample);
}

enum answer {
	ANSWER_LOAD, /* the cell's load at the instant is known */
	ANSWER_GAP,  /* it never will be */
	ANSWER_WAIT, /* the cell has sent nothing yet from that instant on */
};

/* The cell's load at the instant: the first point at or after it, or the line from the point before
 * that one. */
static enum answer load_at(struct sum *sum, size_t cell, int64_t time_ns, int64_t *load_un)
{
	while (sum->count[cell] >= 2 && point_at(sum, cell, 1)->time_ns < time_ns) {
		point_at(sum, cell, 1)->marks |= point_at(sum, cell, 0)->marks & lasting_marks;
		drop_oldest(sum, cell);
	}
	if (sum->count[cell] == 0)
		return ANSWER_WAIT;
	struct sum_point before = *point_at(sum, cell, 0);
	if (before.time_ns == time_ns) {
		*load_un = before.load_un;
		return ANSWER_LOAD;
	}
	if (before.time_ns > time_ns)
		return ANSWER_GAP;
	if (sum->count[cell] < 2)
		return ANSWER_WAIT;
	struct sum_point after = *point_at(sum, cell, 1);
	wide span = (wide)after.time_ns - before.time_ns;
	if (after.time_ns == time_ns) {
		*load_un = after.load_un;
		return ANSWER_LOAD;
	}
	if (span > SUM_TOLERANCE_NS)
		return ANSWER_GAP;
	wide part = (wide)time_ns - before.time_ns;
	wide rise = (wide)after.load_un - before.load_un;
	*load_un = (int64_t)wide_divide_even(before.load_un * span + rise * part, span);
	return ANSWER_LOAD;
}

/* All cells at the oldest instant that waits. */
static enum answer total_at(struct sum *sum, const struct sum_point *instant, int64_t *total_un)
{
	enum answer answer = ANSWER_LOAD;
	*total_un = instant->load_un;
	sum->shares_un[0] = instant->load_un;
	for (size_t cell = 1; cell < sum->cell_count; cell++) {
		int64_t load_un = 0;
		enum answer of_cell = load_at(sum, cell, instant->time_ns, &load_un);
		if (of_cell == ANSWER_WAIT)
			return ANSWER_WAIT;
		if (of_cell == ANSWER_GAP)
			answer = ANSWER_GAP;
		sum->shares_un[cell] = load_un;
		*total_un += load_un;
	}
	if (*total_un > UNITS_LOAD_UN_MAX || *total_un < -UNITS_LOAD_UN_MAX)
		return ANSWER_GAP;
	return answer;
}

/* The marks of the points that this instant was looked up in; the lasting ones are then told. */
static unsigned take_marks(struct sum *sum, const struct sum_point *instant)
{
	unsigned marks = instant->marks;
	for (size_t cell = 1; cell < sum->cell_count; cell++) {
		size_t used = point_at(sum, cell, 0)->time_ns < instant->time_ns ? 2 : 1;
		for (size_t i = 0; i < used; i++) {
			marks |= point_at(sum, cell, i)->marks;
			point_at(sum, cell, i)->marks &= ~lasting_marks;
		}
	}
	return marks;
}

static void drain(struct sum *sum, sum_take *take, void *context)
{
	while (sum->count[0] > 0) {
		struct sum_point instant = *point_at(sum, 0, 0);
		int64_t total_un;
		enum answer answer = total_at(sum, &instant, &total_un);
		if (answer == ANSWER_WAIT)
			return;
		unsigned marks = take_marks(sum, &instant) | sum->owed_sample;
		drop_oldest(sum, 0);
		sum->owed_sample = answer == ANSWER_LOAD ? 0 : marks & lasting_marks;
		if (answer == ANSWER_LOAD)
			emit(sum, instant.time_ns, total_un, marks, take, context);
	}
}

/* One cell: nothing to wait for. A reading beyond the cell's range that still carries digits is
 * shown, flagged, rather than lost. */
static enum scale_error feed_single(
	struct sum *sum, const struct reading *reading, sum_take *take, void *context)
{
	struct reading shown;
	unsigned flags = sum->owed[0];
	int64_t load_un, time_ns = reading->time.ns;
	if (reading->status & READING_OVER) {
		shown = *reading;
		shown.status &= ~(unsigned)READING_OVER;
		flags |= SAMPLE_OVER_RANGE;
		reading = &shown;
	}
	enum scale_error error = scale_apply_next(&sum->scale[0], &sum->form[0], reading, &load_un);
	if (error != SCALE_OK) {
		sum->owed[0] &= lasting_marks;
		return error;
	}
	sum->shares_un[0] = load_un;
	sum->owed[0] = 0;
	emit(sum, time_ns, load_un, flags, take, context);
	return SCALE_OK;
}

enum scale_error sum_feed(
	struct sum *sum, size_t cell, const struct reading *reading, sum_take *take, void *context)
{
	assert(cell < sum->cell_count);
	sum->owed[cell] |= marks_of(reading->status);
	if (reading->status & READING_REPEATED)
		return SCALE_OK;
	if (sum->cell_count == 1)
		return feed_single(sum, reading, take, context);
	int64_t load_un;
	enum scale_error error =
		scale_apply_next(&sum->scale[cell], &sum->form[cell], reading, &load_un);
	if (error != SCALE_OK) {
		sum->owed[cell] &= lasting_marks;
		/* There is no total, but the next one says why there was none. */
		sum->owed[cell] |= reading->status & READING_OVER ? SAMPLE_OVER_RANGE : 0;
		return error;
	}
	push(sum, cell, (struct sum_point){reading->time.ns, load_un, sum->owed[cell]});
	sum->owed[cell] = 0;
	drain(sum, take, context);
	return SCALE_OK;
}

const int64_t *sum_shares(const struct sum *sum)
{
	return sum->shares_un;
}
