/* SPDX-License-Identifier: MIT
 *
 * Reading requests are answered at once; writing ones when the disk has taken them, never before.
 */
#include "asks.h"

#include "now.h"
#include "wire/detail_json.h"
#include "wire/live.h"
#include "wire/specimen_json.h"
#include "wire/verification_json.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static void refuse(struct daemon *daemon, uint64_t client, struct request *request, const char *why)
{
	clients_answer(daemon->clients, client, request_refusal(request->id, why));
}

static bool find_press(struct daemon *daemon, uint64_t client, struct request *request, int *press)
{
	char buffer[400] = "";
	struct message why;
	struct text names;

	*press = daemon_find_press(daemon, request->press);
	if (*press >= 0)
		return true;
	text_init(&names, buffer, sizeof buffer);
	for (size_t i = 0; i < daemon->press_count; i++)
		text_format(&names, "%s%s", i ? ", " : "", press_name(daemon->presses[i]));
	message_set(&why, "there is no press %s; those there are: %.300s", request->press, buffer);
	refuse(daemon, client, request, why.text);
	return false;
}

static void answer_status(struct daemon *daemon, uint64_t client, struct request *request)
{
	json_t *answer = request_answer(request->id);
	json_t *presses = json_array();

	json_object_set_new(answer, "program", json_string("ramplogd"));
	json_object_set_new(answer, "version", json_string(RAMPLOG_VERSION));
	json_object_set_new(answer, "database", json_string(daemon->config->database));
	json_object_set_new(answer, "durable", json_boolean(writer_is_durable(daemon->writer)));
	for (size_t i = 0; i < daemon->press_count; i++) {
		struct status_press status;

		press_status(daemon->presses[i], &status);
		json_array_append_new(presses, status_press_json(&status));
	}
	json_object_set_new(answer, "presses", presses);
	clients_answer(daemon->clients, client, answer);
}

static void start_watch(struct daemon *daemon, uint64_t client, struct request *request)
{
	int press = CLIENTS_ALL;

	if (request->press[0] && !find_press(daemon, client, request, &press))
		return;
	clients_answer(daemon->clients, client, request_answer(request->id));
	clients_watch(daemon->clients, client, press, request->interval_ms * CLOCKS_NS_PER_MS);
}

/* Hands the note over, or says why not. */
static void put_note(struct daemon *daemon, uint64_t client, uid_t uid, struct request *request,
	struct writer_note *note)
{
	note->client = client;
	note->id = json_incref(request->id);
	note->uid = uid;
	note->now = now_utc();
	if (writer_put(daemon->writer, note))
		return;
	writer_note_destroy(note);
	refuse(daemon, client, request, "the disk refuses and the memory is full: see to the disk");
}

static bool check_specimen(
	const struct daemon *daemon, struct specimen *specimen, struct message *why)
{
	if (!specimen->method[0])
		snprintf(specimen->method, sizeof specimen->method, "%s",
			daemon->config->presses[0].method->name);
	if (!specimen_check(specimen, why))
		return false;
	const struct method *method = method_find(specimen->method);
	if (!method)
		return message_set(why, "the method \"%s\" is not known", specimen->method);
	return method_specimen_check(method, specimen, why);
}

static void register_specimen(
	struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct message why;

	if (!check_specimen(daemon, &request->specimen, &why)) {
		refuse(daemon, client, request, why.text);
		return;
	}
	struct writer_note *note = writer_note_create(WRITER_REGISTER);
	assert(note);
	note->specimen = request->specimen;
	note->registration.detail = request->detail;
	put_note(daemon, client, uid, request, note);
}

static void seat_specimen(
	struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	int press = 0;

	if (!find_press(daemon, client, request, &press))
		return;
	struct writer_note *note = writer_note_create(WRITER_SEAT);
	assert(note);
	note->press = (size_t)press;
	snprintf(note->press_name, sizeof note->press_name, "%s", request->press);
	snprintf(note->specimen.id, sizeof note->specimen.id, "%s", request->specimen_id);
	put_note(daemon, client, uid, request, note);
}

static void enter_fracture(
	struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct writer_note *note = writer_note_create(WRITER_FRACTURE);

	assert(note);
	note->run = request->run;
	note->fracture = request->type;
	note->crack_um = request->crack_um;
	snprintf(note->text, sizeof note->text, "%s", request->note);
	put_note(daemon, client, uid, request, note);
}

/* A note about a press that the request names; NULL: refused already. */
static struct writer_note *make_press_note(
	struct daemon *daemon, uint64_t client, struct request *request, enum writer_kind kind)
{
	int press = 0;

	if (!find_press(daemon, client, request, &press))
		return NULL;
	struct writer_note *note = writer_note_create(kind);
	assert(note);
	note->press = (size_t)press;
	snprintf(note->press_name, sizeof note->press_name, "%s", request->press);
	snprintf(note->text, sizeof note->text, "%s", request->note);
	return note;
}

/* What passes is decided here, not by who asks. */
static void enter_verification(
	struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct message why;
	struct writer_note *note = make_press_note(daemon, client, request, WRITER_VERIFICATION);

	if (!note)
		return;
	struct verification *verification = &note->verification;
	*verification = request->verification;
	verification->number = 0;
	snprintf(verification->press, sizeof verification->press, "%s", request->press);
	verification->capacity_un = daemon->config->presses[note->press].capacity_un;
	if (!verification_check(verification, now_utc(), &why)) {
		writer_note_destroy(note);
		refuse(daemon, client, request, why.text);
		return;
	}
	verification_judge(verification);
	put_note(daemon, client, uid, request, note);
}

static void enter_upkeep(struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct writer_note *note = make_press_note(daemon, client, request, WRITER_UPKEEP);

	if (!note)
		return;
	note->upkeep.upkeep = request->upkeep;
	note->upkeep.happened = request->happened.ns ? request->happened : now_utc();
	put_note(daemon, client, uid, request, note);
}

static void take_zero(struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct message why;
	struct writer_note *note = make_press_note(daemon, client, request, WRITER_ZERO);

	if (!note)
		return;
	if (!press_take_zero(daemon->presses[note->press], note, &why)) {
		writer_note_destroy(note);
		refuse(daemon, client, request, why.text);
		return;
	}
	put_note(daemon, client, uid, request, note);
}

static void correct_specimen(
	struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct message why;

	if (!check_specimen(daemon, &request->specimen, &why)) {
		refuse(daemon, client, request, why.text);
		return;
	}
	struct writer_note *note = writer_note_create(WRITER_CORRECT_SPECIMEN);
	assert(note);
	note->specimen = request->specimen;
	note->registration.detail = request->detail;
	snprintf(note->text, sizeof note->text, "%s", request->note);
	put_note(daemon, client, uid, request, note);
}

static void correct_run(struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct writer_note *note = writer_note_create(WRITER_CORRECT_RUN);

	assert(note);
	note->run = request->run;
	note->correction = request->correction;
	snprintf(note->specimen.id, sizeof note->specimen.id, "%s", request->specimen_id);
	snprintf(note->text, sizeof note->text, "%s", request->note);
	put_note(daemon, client, uid, request, note);
}

/* A person compared a text with a standard; what the daemon judges by must be that very text. */
static void confirm_method(
	struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	const struct method *method = method_find(request->method);
	struct message why;

	if (!method || strcmp(method->text, request->method_text) != 0) {
		message_set(&why,
			method ? "the daemon judges by another text of the method %s than the one "
				 "that was compared: let both read the same folder, and start the "
				 "daemon again"
			       : "the daemon knows no method %s: let it read the same folder, and "
				 "start it again",
			request->method);
		refuse(daemon, client, request, why.text);
		return;
	}
	struct writer_note *note = writer_note_create(WRITER_CONFIRM_METHOD);
	assert(note);
	note->confirm.method = method;
	snprintf(note->confirm.edition, sizeof note->confirm.edition, "%s", request->edition);
	snprintf(note->text, sizeof note->text, "%s", request->note);
	put_note(daemon, client, uid, request, note);
}

static void set_terms(struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct writer_note *note = writer_note_create(WRITER_SET_TERMS);

	assert(note);
	note->terms = request->terms;
	put_note(daemon, client, uid, request, note);
}

static void issue_report(struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	struct writer_note *note = writer_note_create(WRITER_REPORT);

	assert(note);
	note->issued = request->issued;
	put_note(daemon, client, uid, request, note);
}

/* A specimen that waits in a press waits with its data as corrected. */
static void seat_again(struct daemon *daemon, const struct specimen *specimen)
{
	for (size_t i = 0; i < daemon->press_count; i++) {
		struct status_press status;

		press_status(daemon->presses[i], &status);
		if (status.has_seated && strcmp(status.seated.id, specimen->id) == 0)
			press_seat(daemon->presses[i], specimen);
	}
}

void asks_take(struct daemon *daemon, uint64_t client, uid_t uid, struct request *request)
{
	switch (request->ask) {
	case REQUEST_STATUS:
		answer_status(daemon, client, request);
		return;
	case REQUEST_WATCH:
		start_watch(daemon, client, request);
		return;
	case REQUEST_REGISTER:
		register_specimen(daemon, client, uid, request);
		return;
	case REQUEST_SEAT:
		seat_specimen(daemon, client, uid, request);
		return;
	case REQUEST_FRACTURE:
		enter_fracture(daemon, client, uid, request);
		return;
	case REQUEST_VERIFICATION:
		enter_verification(daemon, client, uid, request);
		return;
	case REQUEST_UPKEEP:
		enter_upkeep(daemon, client, uid, request);
		return;
	case REQUEST_ZERO:
		take_zero(daemon, client, uid, request);
		return;
	case REQUEST_CORRECT_SPECIMEN:
		correct_specimen(daemon, client, uid, request);
		return;
	case REQUEST_CORRECT_RUN:
		correct_run(daemon, client, uid, request);
		return;
	case REQUEST_CONFIRM_METHOD:
		confirm_method(daemon, client, uid, request);
		return;
	case REQUEST_SET_TERMS:
		set_terms(daemon, client, uid, request);
		return;
	case REQUEST_REPORT:
		issue_report(daemon, client, uid, request);
		return;
	}
}

static void tell_fracture(struct daemon *daemon, const struct writer_note *note)
{
	struct live_fracture fracture = {.run = note->run, .type = note->fracture};

	memcpy(fracture.note, note->text, sizeof fracture.note);
	/* The run's press may have left the configuration since: then only those hear who hear all.
	 */
	int press = daemon_find_press(daemon, note->press_name);
	clients_send_json(daemon->clients, press >= 0 ? press : CLIENTS_ALL,
		live_json_fracture(note->press_name, &fracture));
}

static json_t *zeros_json(const struct writer_note *note)
{
	json_t *list = json_array();

	for (size_t i = 0; i < note->zero.count; i++) {
		const struct zero_entry *entry = &note->zero.entries[i];

		json_array_append_new(list,
			json_pack("{s:s, s:f, s:f}", "cell", entry->cell, "zero_n",
				(double)entry->scale.zero_un / (double)UNITS_UN_PER_N, "before_n",
				(double)entry->before_un / (double)UNITS_UN_PER_N));
	}
	return list;
}

/* What an answer has beyond ok. */
static void put_answer(const struct daemon *daemon, const struct writer_note *note, json_t *answer)
{
	const struct specimen *specimen = &note->specimen;
	struct message why;

	if (note->kind == WRITER_VERIFICATION)
		json_object_set_new(answer, "verification", verification_json(&note->verification));
	if (note->kind == WRITER_REGISTER || note->kind == WRITER_CORRECT_SPECIMEN)
		json_object_set_new(answer, "flags", detail_flags_json(&note->registration.flags));
	if (note->kind == WRITER_ZERO)
		json_object_set_new(answer, "zeros", zeros_json(note));
	if (note->kind == WRITER_SEAT &&
		!bearing_fits(&daemon->config->presses[note->press].block, specimen, &why))
		json_object_set_new(answer, "warning", json_string(why.text));
}

void asks_note_done(struct daemon *daemon, struct writer_note *note)
{
	if (note->status != STORE_OK) {
		clients_answer(
			daemon->clients, note->client, request_refusal(note->id, note->why.text));
		return;
	}
	json_t *answer = request_answer(note->id);
	if (note->kind == WRITER_REGISTER)
		json_object_set_new(answer, "specimen", specimen_json(&note->specimen));
	put_answer(daemon, note, answer);
	clients_answer(daemon->clients, note->client, answer);
	if (note->kind == WRITER_VERIFICATION || note->kind == WRITER_UPKEEP)
		press_set_upkeep(daemon->presses[note->press], &note->standing, note->care);
	if (note->kind == WRITER_ZERO)
		press_use_zero(daemon->presses[note->press], note);
	if (note->kind == WRITER_SEAT)
		press_seat(daemon->presses[note->press], &note->specimen);
	if (note->kind == WRITER_CORRECT_SPECIMEN)
		seat_again(daemon, &note->specimen);
	if (note->kind == WRITER_FRACTURE)
		tell_fracture(daemon, note);
}
