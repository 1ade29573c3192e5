/* SPDX-License-Identifier: MIT
 *
 * What the drawings of many kinds of run are put together from. Each moves the scene's pen and
 * notes what follows for the truth.
 */
#ifndef TESTS_CORPUS_PIECES_H
#define TESTS_CORPUS_PIECES_H

#include "scene.h"

#define PIECES_EVENT(kind) (1u << (kind))

double pieces_between(struct scene *scene, double low, double high);
bool pieces_chance(struct scene *scene, double probability);
/* Where the method's judged span begins, as a part of the load. */
double pieces_half(const struct scene *scene);
/* Some part of the maximum within the judged span. */
double pieces_inside(struct scene *scene, double high);
/* A rate well inside the band. */
double pieces_good_rate(struct scene *scene);

void pieces_anticipate(struct scene *scene, double load_n);
void pieces_maybe_anticipate(struct scene *scene);
/* An event of this size happens; it must be found unless a press that swings by as much itself may
 * hide it. */
bool pieces_expect(struct scene *scene, enum event_kind kind, double size_n);

/* Nothing bears on the block. */
void pieces_idle(struct scene *scene);
/* A soft toe, then up to a part of the maximum. */
void pieces_seat(struct scene *scene, double part, double rate_n_s);
void pieces_up_to(struct scene *scene, double part, double rate_n_s);
/* The load is off: the maximum lies before, and the press stands for a while. */
void pieces_after(struct scene *scene);

/* Ends of a run, from the present load. Within one reading; within half a second; slowly, by a
 * specimen that has yielded; either of the first two. */
void pieces_explode(struct scene *scene);
void pieces_brittle(struct scene *scene);
void pieces_decline(struct scene *scene);
void pieces_snap(struct scene *scene);
/* From the present load on at a rate, perhaps rounded off near the maximum, then broken. */
void pieces_finish(struct scene *scene, double rate_n_s);

#endif
