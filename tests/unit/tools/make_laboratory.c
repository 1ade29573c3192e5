/* SPDX-License-Identifier: MIT
 *
 * Writes the database of a laboratory that never was, after ten weeks of two presses and three
 * technicians: what pictures in docs/ are drawn from, and what can be looked at by hand. In it the
 * south press creeps, and jon's changeover overshoots. `make-laboratory FILE`.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "synthetic.h"

#include <stdio.h>

enum { WEEKS = 10, DAYS = 5, SET_SIZE = 2, NAME_SIZE = 24 };

static const int64_t day_ns = INT64_C(86400) * CLOCKS_NS_PER_S;

static void fill_detail(struct detail *detail)
{
	detail_init(detail);
	detail->intended_age_ns = 28 * day_ns;
	detail->mass_mg = 3740000;
	detail->ends = DETAIL_ENDS_UNBONDED;
	detail->pad_hardness = 60;
	detail->moist = DETAIL_MOIST_YES;
	snprintf(detail->pad, sizeof(detail->pad), "P7");
}

/* Three companions, the last of them out of band after its changeover. */
static void add_quay(struct store *store)
{
	static const char *const notes[] = {"", "defects: voids near the top", ""};
	static const double strengths[] = {31.2, 30.4, 32.3};
	struct synthetic run;
	struct detail detail;
	char name[NAME_SIZE];
	fill_detail(&detail);
	for (int i = 0; i < 3; i++) {
		snprintf(name, sizeof(name), "quay-7-%d", i + 1);
		synthetic_init(&run);
		run.specimen = name;
		run.set = "quay-7";
		run.strength_mpa = strengths[i];
		run.overshoot = i == 2 ? 1.1 : 0.05;
		run.fracture = i + 1;
		run.note = notes[i];
		run.started_days = 0.02 * i;
		run.age_days = 28.1 + 0.02 * i;
		run.seed = (unsigned)i + 1;
		run.readings_s = 20;
		run.detail = &detail;
		synthetic_add(store, &run);
	}
}

/* One set of two a day, the presses and technicians in turn. */
static void add_day(struct store *store, int day)
{
	static const char *const technicians[] = {"mara", "jon", "ines"};
	struct synthetic run;
	char set[NAME_SIZE], name[NAME_SIZE];
	bool south = day % 2 == 1;
	double weeks = (double)(day / DAYS) + (double)(day % DAYS) / 7;
	snprintf(set, sizeof(set), "wall-%d", day + 1);
	for (int i = 0; i < SET_SIZE; i++) {
		snprintf(name, sizeof(name), "wall-%d-%c", day + 1, 'a' + i);
		synthetic_init(&run);
		run.press = south ? "south" : "north";
		run.specimen = name;
		run.set = set;
		run.technician = technicians[day % 3];
		run.seed = (unsigned)(day * SET_SIZE + i) + 100;
		run.strength_mpa = 30 + 0.6 * ((day * 7 + i * 3) % 5);
		run.rate_mpa_s = 0.25 + (south ? 0.002 * weeks : 0);
		run.overshoot = day % 3 == 1 ? 0.7 : 0.04;
		run.started_days = 7 * (double)(day / DAYS) + day % DAYS + 0.1 + 0.02 * i;
		run.readings_s = 10;
		synthetic_add(store, &run);
	}
}

int main(int argc, char **argv)
{
	if (argc != 2) {
		fputs("usage: make-laboratory FILE\n", stderr);
		return 2;
	}
	struct store *store = fixture_open(argv[1], STORE_WRITE);
	synthetic_verify(store, "north");
	synthetic_verify(store, "south");
	add_quay(store);
	for (int day = 0; day < WEEKS * DAYS; day++)
		add_day(store, day);
	store_close(store);
	return 0;
}
