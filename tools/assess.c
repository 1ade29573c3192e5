/* SPDX-License-Identifier: MIT
 *
 * ramplog assess: the judge on a load curve from a file. No daemon, no database.
 *
 * A file has no press and no capacity, so contact and the alignment check are told from the file's
 * own highest load; everything else is the judge that runs live.
 */
#include "commands.h"
#include "options.h"
#include "output.h"
#include "stored.h"
#include "words.h"

#include "base/decimal.h"
#include "base/units.h"
#include "judge/judge.h"
#include "measure/curve.h"
#include "result/outcome.h"
#include "wire/outcome_json.h"

#include <argp.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Contact in a file: this share of its highest load ... */
static const double contact_share = 0.005;
/* ... and this stress: no concrete is so weak, no cell so noisy ... */
static const double contact_pa = 1e5;
/* ... and this many of the finest steps that the file can show. */
static const int64_t contact_steps = 4;

struct request {
	const char *file;
	const char *output; /* NULL: none */
	const struct method *method;
	struct specimen specimen;
	bool cylinder, cube; /* which sizes were given */
	bool json;
	bool failed;
};

enum {
	KEY_METHOD = 256,
	KEY_DIAMETER,
	KEY_LENGTH,
	KEY_SIDE,
	KEY_EXPECTED,
	KEY_RATE,
};

static const struct argp_option options[] = {
	{"method", KEY_METHOD, "METHOD", 0,
		"test method, e.g. astm-c39; `ramplog methods` lists them", 0},
	{"diameter-mm", KEY_DIAMETER, "D", 0, "diameter of a cylinder, in mm (mean of two)", 0},
	{"length-mm", KEY_LENGTH, "L", 0, "length of a cylinder, in mm", 0},
	{"side-mm", KEY_SIDE, "S", 0, "side of a cube, in mm", 0},
	{"expected-mpa", KEY_EXPECTED, "F", 0, "anticipated strength, in MPa", 0},
	{"rate-mpa-s", KEY_RATE, "R", 0, "rate chosen where the method lets one choose", 0},
	{0},
};

static void refuse(
	struct request *request, const char *option, const char *value, const char *wanted)
{
	fprintf(stderr, "ramplog assess: --%s %s: %s\n", option, value, wanted);
	request->failed = true;
}

/* A length in mm as whole micrometres. */
static int64_t read_mm(struct request *request, const char *option, const char *value)
{
	struct decimal decimal;
	int64_t um = 0;
	if (!decimal_parse(value, strlen(value), &decimal) || !decimal_scaled(decimal, 3, &um) ||
		um <= 0) {
		refuse(request, option, value, "give a length above 0 in mm, such as 150.25");
		return 0;
	}
	return um;
}

static double read_positive(struct request *request, const char *option, const char *value)
{
	struct decimal decimal;
	if (!decimal_parse(value, strlen(value), &decimal) || decimal.mantissa <= 0) {
		refuse(request, option, value, "give a number above 0");
		return 0;
	}
	return decimal_double(decimal);
}

static void read_option(struct request *request, int key, const char *value)
{
	struct specimen *specimen = &request->specimen;
	switch (key) {
	case KEY_METHOD:
		request->method = method_find(value);
		if (request->method == NULL)
			refuse(request, "method", value,
				"no such method; `ramplog methods` lists those that there "
				"are");
		break;
	case KEY_DIAMETER:
		request->cylinder = true;
		specimen->shape = SHAPE_CYLINDER;
		specimen->width_um[0] = specimen->width_um[1] =
			read_mm(request, "diameter-mm", value);
		break;
	case KEY_LENGTH:
		request->cylinder = true;
		specimen->length_um = read_mm(request, "length-mm", value);
		break;
	case KEY_SIDE:
		request->cube = true;
		specimen->shape = SHAPE_CUBE;
		specimen->width_um[0] = specimen->width_um[1] = specimen->length_um =
			read_mm(request, "side-mm", value);
		break;
	case KEY_EXPECTED:
		specimen->anticipated_pa =
			read_positive(request, "expected-mpa", value) * UNITS_PASCAL_PER_MPA;
		break;
	default: /* KEY_RATE */
		specimen->chosen_rate_pa_s =
			read_positive(request, "rate-mpa-s", value) * UNITS_PASCAL_PER_MPA;
		break;
	}
}

/* What was typed must be one specimen and one method. */
static bool check_request(struct request *request)
{
	const struct specimen *specimen = &request->specimen;
	if (request->failed)
		return false;
	const char *missing = NULL;
	if (request->file == NULL)
		missing = "name the file with the load curve";
	else if (request->method == NULL)
		missing = "name the method, e.g. --method astm-c39";
	else if (request->cylinder && request->cube)
		missing =
			"a cylinder has a diameter and a length, a cube a side: give one specimen";
	else if (specimen->width_um[0] == 0 || specimen->length_um == 0)
		missing = "give the specimen's size: --diameter-mm D --length-mm L, or --side-mm S";
	if (missing != NULL)
		fprintf(stderr, "ramplog assess: %s (see ramplog assess --help)\n", missing);
	return missing == NULL;
}

static error_t parse(int key, char *value, struct argp_state *state)
{
	struct request *request = state->input;
	if (key == ARGP_KEY_INIT) {
		state->child_inputs[0] = &request->json;
		state->child_inputs[1] = &request->output;
		return 0;
	}
	if (key >= KEY_METHOD && key <= KEY_RATE) {
		read_option(request, key, value);
		return 0;
	}
	if (key != ARGP_KEY_ARG)
		return ARGP_ERR_UNKNOWN;
	if (request->file != NULL)
		argp_error(state, "one file at a time, not also '%s'", value);
	request->file = value;
	return 0;
}

static bool cannot_read(const char *path)
{
	fprintf(stderr, "ramplog assess: %s: cannot be read: %s\n", path, strerror(errno));
	return false;
}

/* The whole file; *text is the caller's to free. */
static bool read_file(const char *path, char **text, size_t *length)
{
	FILE *file = fopen(path, "rb");
	if (file == NULL)
		return cannot_read(path);
	size_t size = 0;
	bool good = true;
	*text = NULL;
	*length = 0;
	do {
		size = size == 0 ? 65536 : 2 * size;
		char *more = realloc(*text, size);
		good = more != NULL;
		if (good) {
			*text = more;
			*length += fread(*text + *length, 1, size - *length, file);
		}
	} while (good && *length == size);
	good = good && !ferror(file);
	if (!good) {
		cannot_read(path);
		free(*text);
	}
	fclose(file);
	return good;
}

static bool load_curve(const char *path, struct curve *curve)
{
	struct message why;
	char *text = NULL;
	size_t length = 0;
	if (!read_file(path, &text, &length))
		return false;
	bool good = curve_parse(path, text, length, curve, &why);
	free(text);
	if (!good)
		fprintf(stderr, "ramplog assess: %s\n", why.text);
	return good;
}

/* Contact and alignment load of a file; see the head of this file. */
static void plan_for_file(struct plan *plan, const struct curve *curve)
{
	int64_t highest = 0;
	for (size_t i = 0; i < curve->count; i++) {
		if (curve->samples[i].load_un > highest)
			highest = curve->samples[i].load_un;
	}
	double contact = fmax(contact_share * (double)highest, contact_pa * plan->area_m2 * 1e6);
	plan->contact_un = (int64_t)fmax(contact, (double)(contact_steps * curve->step_un));
	if (plan->anticipated_load_un == 0)
		plan->alignment_un =
			(int64_t)(plan->policy.alignment_fraction * (double)highest) + 1;
}

static bool judge_curve(
	const struct request *request, const struct curve *curve, struct outcome *outcome)
{
	struct plan plan;
	struct message why;
	if (!method_plan(request->method, &request->specimen, &plan, &why)) {
		fprintf(stderr, "ramplog assess: %s\n", why.text);
		return false;
	}
	plan_for_file(&plan, curve);
	struct judge *judge = judge_create(JUDGE_TRACK_MAX);
	if (judge == NULL) {
		fprintf(stderr, "ramplog assess: out of memory\n");
		return false;
	}
	judge_start(judge, &plan);
	for (size_t i = 0; i < curve->count; i++) {
		if (judge_feed(judge, &curve->samples[i]))
			break;
	}
	judge_finish(judge, &outcome->judgement);
	judge_destroy(judge);
	outcome_derive(outcome, request->method, &request->specimen);
	return true;
}

static void print_rate(const struct rate *rate, enum basis basis)
{
	printf("rate             %s, on the %s load: %s\n", words_verdict(rate->verdict),
		basis_text(basis), rate->reason);
	if (rate->window_ns == 0)
		return;
	printf("judged span      %.2f to %.2f s, mean %.3f MPa/s, window %.2f s, outside %.2f s\n",
		(double)rate->from.ns * 1e-9, (double)rate->to.ns * 1e-9, rate->mean_pa_s * 1e-6,
		(double)rate->window_ns * 1e-9, (double)rate->outside_ns * 1e-9);
}

static void print_text(const struct outcome *outcome)
{
	const struct judgement *judgement = &outcome->judgement;
	printf("method           %s\n", outcome->method->standard);
	printf("end              %s\n", end_text(judgement->end));
	printf("maximum load     %.3f kN at %.2f s\n", (double)judgement->maximum_un * 1e-9,
		(double)judgement->maximum_at.ns * 1e-9);
	printf("strength         %s\n",
		outcome->strength_reported[0] != '\0' ? outcome->strength_reported : "none");
	print_rate(&judgement->rate, judgement->basis);
	if (judgement->rate_other.verdict != VERDICT_NONE)
		print_rate(&judgement->rate_other,
			judgement->basis == BASIS_MAXIMUM ? BASIS_ANTICIPATED : BASIS_MAXIMUM);
	for (size_t i = 0; i < judgement->event_count; i++) {
		const struct event *event = &judgement->events[i];
		printf("event            %s at %.2f s: %s\n", event_kind_text(event->kind),
			(double)event->time.ns * 1e-9, event->text);
	}
}

/* The file's name without its folder: what a person calls it. */
static const char *name_of(const char *path)
{
	const char *slash = strrchr(path, '/');
	return slash && slash[1] ? slash + 1 : path;
}

static int draw(
	const struct request *request, const struct curve *curve, const struct outcome *outcome)
{
	const struct run_curve drawn = {
		curve->samples, curve->count, (struct mono_time){0}, outcome};
	const char *name = name_of(request->file);
	const struct run_picture picture = {
		.curve = &drawn, .name = name, .detail = outcome->method->standard};
	const struct page_about about = {name, ""};
	return output_picture("ramplog assess", request->output, &picture, &about);
}

int assess_main(int argc, char **argv)
{
	static const struct argp_child children[] = {
		{&options_json, 0, NULL, 0}, {&output_argp, 0, NULL, 0}, {0}};
	static const struct argp argp = {
		.options = options,
		.children = children,
		.parser = parse,
		.args_doc = "FILE.csv",
		.doc = "Judges a load curve from a file: maximum load, end, strength, and whether "
		       "the stress rate was in band.\v"
		       "With -o the curve is drawn too, as FILE.svg, "
		       "FILE.pdf or FILE.png. The file is UTF-8 CSV whose header names time_s and "
		       "one of load_n, "
		       "load_kn, "
		       "load_lbf; lines that start with # are comments. Exit status: 0 judged, 2 "
		       "the "
		       "file or an option cannot be used.",
	};
	struct request request = {.specimen = {.id = "file"}};
	if (argp_parse(&argp, argc, argv, 0, NULL, &request) != 0 || !check_request(&request))
		return EXIT_CANNOT;
	struct curve curve;
	if (!load_curve(request.file, &curve))
		return EXIT_CANNOT;
	struct outcome outcome;
	bool judged = judge_curve(&request, &curve, &outcome);
	int code = judged ? EXIT_DONE : EXIT_CANNOT;
	if (judged && request.output)
		code = draw(&request, &curve, &outcome);
	curve_finish(&curve);
	if (code != EXIT_DONE)
		return code;
	if (request.json)
		return stored_put_json(
			"ramplog assess", outcome_json(&outcome, (struct mono_time){0}));
	print_text(&outcome);
	return EXIT_DONE;
}
