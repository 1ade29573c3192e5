/* SPDX-License-Identifier: MIT
 *
 * The kinds of run that a press can draw. Each draws the scene and says what is true of it.
 */
#ifndef TESTS_CORPUS_KINDS_H
#define TESTS_CORPUS_KINDS_H

#include "scene.h"

enum { KINDS_MAX = 40 };

struct kind {
	const char *name;
	void (*draw)(struct scene *scene);
};

/* Ended by an entry with a NULL name. */
const struct kind *kinds_table(void);
/* Of the kinds that are drawn; the one after them is that of the real curves. */
size_t kinds_count(void);

/* kinds_loading.c */
void kinds_steady(struct scene *scene);
void kinds_good(struct scene *scene);
void kinds_throughout(struct scene *scene);
void kinds_at_limit(struct scene *scene);
void kinds_change_before(struct scene *scene);
void kinds_change_at(struct scene *scene);
void kinds_change_after(struct scene *scene);
void kinds_excursion_up(struct scene *scene);
void kinds_excursion_down(struct scene *scene);
void kinds_excursion_30(struct scene *scene);
void kinds_creep(struct scene *scene);
void kinds_stall(struct scene *scene);
void kinds_shock(struct scene *scene);
void kinds_roll_off_late(struct scene *scene);
void kinds_roll_off_early(struct scene *scene);
void kinds_weak(struct scene *scene);
void kinds_strong(struct scene *scene);
/* kinds_breaking.c */
void kinds_explosive(struct scene *scene);
void kinds_brittle(struct scene *scene);
void kinds_ductile(struct scene *scene);
void kinds_corner(struct scene *scene);
void kinds_corners(struct scene *scene);
void kinds_corner_at_top(struct scene *scene);
void kinds_reload(struct scene *scene);
void kinds_let_off(struct scene *scene);
void kinds_let_off_after(struct scene *scene);
void kinds_alignment(struct scene *scene);
/* kinds_reading.c */
void kinds_spikes(struct scene *scene);
void kinds_spike_at_top(struct scene *scene);
void kinds_stuck(struct scene *scene);
void kinds_gap(struct scene *scene);
void kinds_zero_offset(struct scene *scene);
void kinds_zero_drift(struct scene *scene);
void kinds_saturation(struct scene *scene);
void kinds_stops(struct scene *scene);

#endif
