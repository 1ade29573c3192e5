/* SPDX-License-Identifier: MIT */
#include "writing.h"

#include "client.h"
#include "commands.h"
#include "now.h"
#include "options.h"
#include "wire/detail_json.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct writing *writing = state->input;
	(void)typed;
	if (key != ARGP_KEY_INIT)
		return ARGP_ERR_UNKNOWN;
	state->child_inputs[0] = &writing->database;
	state->child_inputs[1] = &writing->socket;
	return 0;
}

static const struct argp_child children[] = {
	{&options_database, 0, NULL, 0}, {&options_socket, 0, NULL, 0}, {0}};
const struct argp writing_argp = {NULL, parse, NULL, NULL, children, NULL, NULL};

error_t writing_parse_two(int key, const char *typed, struct argp_state *state, writing_take *take,
	const char *missing)
{
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = state->input;
		return 0;
	case ARGP_KEY_ARG:
		if (state->arg_num > 1)
			argp_error(state, "'%s' is one word too many", typed);
		take(state, state->arg_num, typed);
		return 0;
	case ARGP_KEY_END:
		if (state->arg_num < 2)
			argp_error(state, "%s", missing);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

/* The answer is the one that the daemon would give. */
static enum store_status apply_registration(
	struct store *store, const struct writing *writing, const struct actor *actor)
{
	const struct request *request = &writing->request;
	struct detail_flags flags;
	enum store_status status = store_register(store, &request->specimen, &request->detail,
		request->ask == REQUEST_REGISTER ? "" : request->note, actor, now(), &flags);
	if (status == STORE_OK && writing->answer) {
		*writing->answer = json_object();
		json_object_set_new(*writing->answer, "flags", detail_flags_json(&flags));
	}
	return status;
}

static enum store_status apply(struct store *store, const struct writing *writing)
{
	const struct request *request = &writing->request;
	struct actor actor;
	store_actor(getuid(), &actor);
	switch (request->ask) {
	case REQUEST_REGISTER:
	case REQUEST_CORRECT_SPECIMEN:
		return apply_registration(store, writing, &actor);
	case REQUEST_SEAT:
		return store_seat(store, request->press, request->specimen_id, &actor, now());
	case REQUEST_FRACTURE:
		return store_fracture_crack_add(store, request->run, request->type,
			request->crack_um, request->note, &actor, now());
	case REQUEST_UPKEEP:
		return store_upkeep_add(store, request->press, request->upkeep, request->note,
			request->happened.ns ? request->happened : now(), &actor, now());
	case REQUEST_CORRECT_RUN:
		if (request->correction == REQUEST_OTHER_SPECIMEN)
			return store_run_assign(store, request->run, request->specimen_id,
				request->note, &actor, now());
		return store_run_void(store, request->run, request->correction == REQUEST_VOID,
			request->note, &actor, now());
	case REQUEST_CONFIRM_METHOD:
		return store_method_confirm(store, method_find(request->method), request->edition,
			request->note, &actor, now());
	case REQUEST_SET_TERMS:
		return store_terms_add(store, &request->terms, &actor, now());
	case REQUEST_REPORT:
		return store_report_add(store, &request->issued, &actor, now());
	case REQUEST_STATUS:
	case REQUEST_WATCH:
	case REQUEST_VERIFICATION:
	case REQUEST_ZERO:
		break;
	}
	return STORE_REFUSED;
}

static int write_store(const struct writing *writing, struct store *store)
{
	struct actor actor;
	bool changed = false;
	store_actor(getuid(), &actor);
	enum store_status status = store_key_take(store, &actor, now(), &changed);
	if (changed)
		fprintf(stderr, "%s: another key than before signs from now on (%s.key)\n",
			writing->command, writing->database);
	if (status == STORE_OK)
		status = store_begin(store);
	if (status == STORE_OK)
		status = apply(store, writing);
	if (status == STORE_OK)
		status = store_commit(store);
	if (status == STORE_OK)
		return EXIT_DONE;
	fprintf(stderr, "%s: %s\n", writing->command, store_error(store));
	store_rollback(store);
	return EXIT_CANNOT;
}

static int write_alone(const struct writing *writing, const struct message *away)
{
	struct message why;
	struct store *store;
	/* A database is made by the daemon, not by a mistyped path. */
	if (access(writing->database, F_OK) != 0) {
		fprintf(stderr,
			"%s: %s, and there is no database %s; start ramplogd, or name them "
			"with --socket or --database\n",
			writing->command, away->text, writing->database);
		return EXIT_CANNOT;
	}
	int code = EXIT_CANNOT;
	enum store_status status = store_open(&store, writing->database, STORE_WRITE, &why);
	if (status == STORE_OK) {
		code = write_store(writing, store);
		store_close(store);
	} else {
		fprintf(stderr, "%s: %s\n", writing->command, why.text);
	}
	if (status == STORE_BUSY)
		fputs("if it is a daemon, it does not listen on the socket that was tried: name "
		      "its socket with --socket\n",
			stderr);
	return code;
}

int writing_do(const struct writing *writing)
{
	struct message why;
	bool daemons = writing->request.ask == REQUEST_VERIFICATION ||
		       writing->request.ask == REQUEST_ZERO;
	switch (client_ask(writing->socket, &writing->request, writing->answer, &why)) {
	case CLIENT_DONE:
		return EXIT_DONE;
	case CLIENT_AWAY:
		/* The capacity is in the daemon's configuration, the load in its cells. */
		if (!daemons)
			return write_alone(writing, &why);
		break;
	case CLIENT_REFUSED:
	case CLIENT_FAILED:
		break;
	}
	fprintf(stderr, "%s: %s\n", writing->command, why.text);
	return EXIT_CANNOT;
}
