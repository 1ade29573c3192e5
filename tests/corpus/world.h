/* SPDX-License-Identifier: MIT
 *
 * The world between a drawing and the judge: a press that hunts and ripples, a cell with noise and
 * a resolution, a line with jitter and faults. What the world does to the readings is known, and so
 * is the largest reading that is no fault.
 */
#ifndef TESTS_CORPUS_WORLD_H
#define TESTS_CORPUS_WORLD_H

#include "drawing.h"

#include "measure/sample.h"
#include "unit/random.h"

enum { WORLD_SAMPLES_MAX = 4000000, WORLD_FAULTS_MAX = 8 };

enum fault_kind {
	FAULT_SPIKE, /* width readings are off by size */
	FAULT_STUCK, /* the reading stays as it is for a time */
	FAULT_GAP,   /* no readings for a time */
};

struct fault {
	enum fault_kind kind;
	double time_s, seconds;
	int width;
	double size_n;
};

struct world {
	double hz;
	double jitter;  /* of the interval, standard deviation */
	int chunk;      /* readings that arrive in one read share nearly one time; 1: none */
	double noise_n; /* standard deviation */
	double step_n;  /* resolution */
	double hunting_n, hunting_hz;
	double hunting_lull;   /* by this part it dies down ... */
	double hunting_lull_s; /* ... this often */
	double ripple_n, ripple_hz;
	double zero_n, zero_drift_n_s;
	double capacity_n; /* readings stop rising here; 0: none */
	double stop_s;     /* readings stop here; 0: never */
	size_t fault_count;
	struct fault faults[WORLD_FAULTS_MAX];
};

struct record {
	size_t count;
	struct sample *samples; /* WORLD_SAMPLES_MAX, owned by the caller */
	int64_t largest_un;     /* of the readings that are no fault ... */
	int64_t largest_ns;     /* ... and its time */
};

/* Samples the drawing as the world shows it. */
void world_record(const struct world *world, const struct drawing *drawing, struct random *random,
	struct record *record);
/* What a swing of this frequency looks like when it is sampled in this world. */
double world_seen_hz(const struct world *world, double hz);
/* Standard deviation of the error of a window's slope in this world, in N/s, by theory: white
 * noise and resolution; sines by the envelope 6 A / (pi f W^2) over sqrt 2. */
double world_slope_error(const struct world *world, double rate_n_s, double window_s);

#endif
