/* SPDX-License-Identifier: MIT
 *
 * A stored run's export held against the curve that was played.
 */
#ifndef TESTS_E2E_EXPORTED_H
#define TESTS_E2E_EXPORTED_H

#include "lab.h"

#include "measure/curve.h"

/* Reads a curve file whole; fails the test where it cannot. Free with curve_finish. */
void exported_read(const char *path, struct curve *curve);
/* Exports the run into the laboratory's folder and reads that. */
void exported_run(struct lab *lab, const char *run, struct curve *curve);
/* Every sample of the played curve up to the last one under load is in the export, in order, each
 * load within half the line's resolution; nothing lies between them; times agree within the
 * scheduling of a busy machine. */
void exported_must_equal(
	const struct curve *exported, const struct curve *played, double resolution_newton);

#endif
