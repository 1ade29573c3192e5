/* SPDX-License-Identifier: MIT
 *
 * A cylinder in the press that the tests draw.
 */
#include "cylinder.h"

#include "base/units.h"
#include "result/method.h"
#include "unit/check.h"

#include <stdlib.h>

/* Cylinder of 150 x 300 mm: 0.01767 m2, so that 0.25 MPa/s is 4418 N/s and 30 MPa 530 kN. */
static const struct specimen cylinder = {
	.id = "C-1",
	.shape = SHAPE_CYLINDER,
	.width_um = {150000, 150000},
	.length_um = 300000,
};

struct plan cylinder_plan(const char *method, double anticipated_mpa)
{
	struct specimen specimen = cylinder;
	struct plan plan;
	struct message why;
	specimen.anticipated_pa = anticipated_mpa * 1e6;
	assert_true(method_plan(method_find(method), &specimen, &plan, &why));
	plan.contact_un = 1500 * UNITS_UN_PER_N;
	return plan;
}

double cylinder_newton(double mpa)
{
	return mpa * specimen_area_m2(&cylinder) * 1e6;
}

struct press *cylinder_begin(double hz, double mpa, double mpa_s)
{
	struct press *press = press_new(hz);
	press_hold(press, 1);
	press_to(press, cylinder_newton(mpa), cylinder_newton(mpa_s));
	return press;
}

void cylinder_climb(struct press *press, double mpa, double mpa_s)
{
	press_to(press, cylinder_newton(mpa), cylinder_newton(mpa_s));
}

void cylinder_snap(struct press *press)
{
	press_to(press, 0, press->load_n * 10);
	press_hold(press, 2);
}

struct judgement cylinder_judged(struct press *press, const struct plan *plan)
{
	struct judgement judgement;
	press_judge(press, plan, &judgement);
	free(press);
	return judgement;
}

struct judgement cylinder_broken(struct press *press, const struct plan *plan)
{
	cylinder_snap(press);
	return cylinder_judged(press, plan);
}
