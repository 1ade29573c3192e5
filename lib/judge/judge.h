/* SPDX-License-Identifier: MIT
 *
 * The judge: samples of one run in, phase and advice while the load rises, the judgement after it.
 * The same code judges live, from a file and from the store. It knows no clock: time is in the
 * samples. O(1) per sample and no allocation between judge_start and judge_finish.
 */
#ifndef JUDGE_JUDGE_H
#define JUDGE_JUDGE_H

#include "judge/event.h"
#include "judge/plan.h"
#include "measure/sample.h"

#include <stdbool.h>
#include <stddef.h>

enum phase {
	PHASE_IDLE,        /* nothing bears on the block */
	PHASE_SEATING,     /* contact made, below 10 % of the anticipated load */
	PHASE_FIRST_HALF,  /* before the judged span, as far as it is known live */
	PHASE_LATTER_HALF, /* the band must hold */
	PHASE_YIELDING,    /* the rate falls by itself: touch nothing */
	PHASE_DECLINING,   /* after the maximum, still falling */
	PHASE_RELEASED,    /* the load is off */
};

enum end {
	END_BROKEN,
	END_UNLOADED,
	END_INTERRUPTED,
	END_NO_LOAD,
};

enum verdict {
	VERDICT_NONE, /* nothing to judge */
	VERDICT_IN_BAND,
	VERDICT_OUT_OF_BAND,
	VERDICT_UNDETERMINED,
};

enum basis {
	BASIS_ANTICIPATED,
	BASIS_MAXIMUM,
};

/* Static texts: "first_half", "broken", "in_band" (VERDICT_NONE: ""), "maximum". */
const char *phase_text(enum phase phase);
const char *end_text(enum end end);
const char *verdict_text(enum verdict verdict);
const char *basis_text(enum basis basis);
bool end_parse(const char *text, enum end *end);
bool verdict_parse(const char *text, enum verdict *verdict);
bool basis_parse(const char *text, enum basis *basis);

enum { RATE_REASON_SIZE = 240, JUDGE_EVENTS_MAX = 64, ADVICE_SIZE = 96 };

/* The judgement of the stress rate over one judged span. Rates in Pa/s. */
struct rate {
	enum verdict verdict; /* VERDICT_NONE: the other fields are 0 but for reason and band */
	char reason[RATE_REASON_SIZE];
	double band_low_pa_s, band_high_pa_s;
	struct mono_time from, to;        /* the judged span */
	double mean_pa_s;                 /* stress gained over the span / its duration */
	double lowest_pa_s, highest_pa_s; /* least and largest slope of a judging window */
	int64_t window_ns;                /* judging window used: W, or a third of a short span */
	double uncertainty_pa_s;          /* standard error u of a window's slope */
	int64_t outside_ns;               /* time spent outside the band */
	struct mono_time worst;           /* middle of the window farthest from the band's middle */
};

/* What the judge says of a finished run. Plain values, copyable. */
struct judgement {
	enum end end;
	int64_t maximum_un; /* largest sample that is not a spike; 0 with END_NO_LOAD */
	struct mono_time maximum_at;
	enum basis basis;
	struct rate rate;       /* on the basis named above */
	struct rate rate_other; /* on the other one; VERDICT_NONE where there is none */
	size_t event_count;
	struct event events[JUDGE_EVENTS_MAX]; /* by time; of more, the first ones are kept */
	size_t event_total;                    /* how many there were */
	size_t sample_count; /* that were taken: of a later time than the one before */
};

enum advice {
	ADVICE_NONE,
	ADVICE_BAND_AHEAD,  /* "band begins at 78 kN" */
	ADVICE_IN_BAND,     /* "rate 0.25 MPa/s, in band" */
	ADVICE_TOO_FAST,    /* "rate 0.33 MPa/s, above 0.30: ease the valve" */
	ADVICE_TOO_SLOW,    /* "rate 0.17 MPa/s, below 0.20: open the valve" */
	ADVICE_STALL,       /* "the load stands still" */
	ADVICE_LEAVE_ALONE, /* "leave the valve alone" */
	ADVICE_DECLINING,   /* "load is falling: go on until the fracture is well defined" */
};

/* What a person sees while the run goes on. */
struct live {
	enum phase phase;
	struct mono_time time; /* of the newest sample */
	int64_t load_un;
	int64_t maximum_un; /* so far */
	double stress_pa;   /* 0 while the area is not known */
	bool has_rate;
	double rate_pa_s; /* running stress rate over a short window */
	double rate_uncertainty_pa_s;
	int64_t band_begins_un; /* load at which the band begins; 0: not known before the run */
	bool has_thrust;        /* the caller's: the judge does not know the cells */
	int64_t thrust_x_um, thrust_y_um;
	enum advice advice;
	bool warning; /* the advice is a warning */
	char text[ADVICE_SIZE];
};

/* What every caller gives as track_max, so that a long run is thinned alike wherever it is judged:
 * 17 minutes at 1 kHz. A sample takes 3 to 4 bytes; untouched memory costs nothing. */
enum { JUDGE_TRACK_MAX = 1 << 20 };

struct judge; /* owns its track of samples; make one per press when it is opened */

/* track_max: how many samples of a run are kept for the verdict; a longer run is thinned by halves
 * (its maximum never is). NULL when memory is short. */
struct judge *judge_create(size_t track_max);
void judge_destroy(struct judge *judge); /* NULL is fine */

/* Begins a run in PHASE_IDLE. The plan is copied. */
void judge_start(struct judge *judge, const struct plan *plan);

/* Feeds the next sample; times must not decrease (a sample with the time of the one before it, or
 * an earlier one, is ignored). Returns true when the run is over: released for good, further
 * samples belong to no run. */
bool judge_feed(struct judge *judge, const struct sample *sample);

enum phase judge_phase(const struct judge *judge);
/* Fills in what a person sees now. */
void judge_live(const struct judge *judge, struct live *live);
/* Events that are certain already, in the order found; count is returned, *events points into the
 * judge and is valid until the next call that changes it. */
size_t judge_events(const struct judge *judge, const struct event **events);

/* Judges what was fed since judge_start, as if no further sample came; the run may have ended or
 * not. Same samples and plan, same judgement, bit for bit. Feeding may go on afterwards. */
void judge_finish(struct judge *judge, struct judgement *judgement);
/* Forgets the run's samples and gives the memory of a long one back; judge_start comes next. */
void judge_give_back(struct judge *judge);

/* For the daemon while idle: true if these samples, ending with the newest, make contact. O(1). */
struct contact {
	int64_t since_ns; /* first sample of the present contact */
	bool touching;
};
void contact_init(struct contact *contact);
bool contact_feed(struct contact *contact, const struct plan *plan, const struct sample *sample);

#endif
