/* SPDX-License-Identifier: MIT
 *
 * The control socket: lines however they are cut, and clients that are slow, gone or wrong.
 */
#include "clients.h"
#include "now.h"
#include "unit/check.h"

#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

struct rig {
	char folder[64];
	char path[96];
	uv_loop_t loop;
	struct clients *clients;
	bool hold; /* requests are not answered at once */
	size_t request_count;
	uint64_t client; /* of the newest request */
	char press[SPECIMEN_NAME_SIZE];
};

static void on_request(void *context, uint64_t client, uid_t uid, struct request *request)
{
	struct rig *rig = context;

	assert_int_equal(uid, getuid());
	rig->request_count++;
	rig->client = client;
	memcpy(rig->press, request->press, sizeof rig->press);
	if (!rig->hold)
		clients_answer(rig->clients, client, request_answer(request->id));
}

static void rig_init(struct rig *rig)
{
	struct clients_hooks hooks = {rig, on_request};
	struct message why = {""};

	*rig = (struct rig){.folder = "/tmp/ramplog-clients-XXXXXX"};
	assert_non_null(mkdtemp(rig->folder));
	snprintf(rig->path, sizeof rig->path, "%s/socket", rig->folder);
	assert_int_equal(uv_loop_init(&rig->loop), 0);
	rig->clients = clients_create(&rig->loop, &hooks);
	if (!clients_listen(rig->clients, rig->path, &why))
		fail_msg("%s", why.text);
}

static void rig_finish(struct rig *rig)
{
	clients_stop(rig->clients);
	uv_run(&rig->loop, UV_RUN_DEFAULT);
	assert_int_equal(uv_loop_close(&rig->loop), 0);
	clients_destroy(rig->clients);
	/* The socket is gone, so the folder is empty. */
	assert_int_equal(rmdir(rig->folder), 0);
}

static int connect_to(const char *path)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int descriptor = socket(AF_UNIX, SOCK_STREAM, 0);

	snprintf(address.sun_path, sizeof address.sun_path, "%s", path);
	assert_int_equal(connect(descriptor, (struct sockaddr *)&address, sizeof address), 0);
	return descriptor;
}

static void turn(struct rig *rig)
{
	for (int i = 0; i < 10; i++)
		uv_run(&rig->loop, UV_RUN_NOWAIT);
}

static void say(struct rig *rig, int descriptor, const char *text)
{
	assert_int_equal(write(descriptor, text, strlen(text)), (ssize_t)strlen(text));
	turn(rig);
}

/* Everything that is there now. */
static const char *hear(int descriptor)
{
	static char text[64 * 1024];
	ssize_t length = recv(descriptor, text, sizeof text - 1, MSG_DONTWAIT);

	text[length > 0 ? length : 0] = '\0';
	return text;
}

static bool is_closed(int descriptor)
{
	char byte;

	return recv(descriptor, &byte, 1, MSG_DONTWAIT) == 0;
}

static void test_lines_however_cut(void **state)
{
	static const char LINE[] = "{\"ask\":\"status\",\"id\":5}\n";
	struct rig rig;

	(void)state;
	rig_init(&rig);
	int descriptor = connect_to(rig.path);
	for (size_t i = 0; i < strlen(LINE); i++) {
		assert_string_equal(hear(descriptor), "");
		say(&rig, descriptor, (char[]){LINE[i], '\0'});
	}
	assert_string_equal(hear(descriptor), "{\"id\":5,\"ok\":true}\n");
	say(&rig, descriptor,
		"{\"ask\":\"status\",\"id\":1}\r\n\n{\"ask\":\"status\",\"id\":2}\n {\"as");
	assert_string_equal(hear(descriptor), "{\"id\":1,\"ok\":true}\n{\"id\":2,\"ok\":true}\n");
	say(&rig, descriptor, "k\":\"watch\",\"id\":3,\"press\":\"p\"}\n");
	assert_string_equal(hear(descriptor), "{\"id\":3,\"ok\":true}\n");
	assert_string_equal(rig.press, "p");
	say(&rig, descriptor, "nonsense\n{\"ask\":\"status\"}\n");
	const char *text = hear(descriptor);
	assert_non_null(strstr(text, "\"ok\":false,\"error\":\"the line is not JSON"));
	assert_non_null(strstr(text, "}\n{\"ok\":true}\n"));
	close(descriptor);
	rig_finish(&rig);
}

static void test_long_line(void **state)
{
	char *line = malloc(REQUEST_LINE_MAX);
	struct rig rig;

	(void)state;
	rig_init(&rig);
	int descriptor = connect_to(rig.path);
	memset(line, ' ', REQUEST_LINE_MAX);
	memcpy(line, "{\"ask\":\"status\"", 15);
	memcpy(line + REQUEST_LINE_MAX - 2, "}\n", 2);
	for (size_t i = 0; i < REQUEST_LINE_MAX; i += 4096) {
		assert_int_equal(write(descriptor, line + i, 4096), 4096);
		turn(&rig);
	}
	assert_string_equal(hear(descriptor), "{\"ok\":true}\n");
	line[REQUEST_LINE_MAX - 1] = ' '; /* one more byte would be needed */
	for (size_t i = 0; i < REQUEST_LINE_MAX; i += 4096) {
		assert_int_equal(write(descriptor, line + i, 4096), 4096);
		turn(&rig);
	}
	assert_non_null(strstr(hear(descriptor), "more than 64 KiB"));
	assert_true(is_closed(descriptor));
	free(line);
	close(descriptor);
	rig_finish(&rig);
}

/* A client that closes its sending side still gets its answers, and is then let go. */
static void test_half_closed(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	rig.hold = true;
	int descriptor = connect_to(rig.path);
	say(&rig, descriptor, "{\"ask\":\"status\"}\n{\"ask\":\"status\"}\n");
	shutdown(descriptor, SHUT_WR);
	turn(&rig);
	assert_int_equal(rig.request_count, 2);
	clients_answer(rig.clients, rig.client, request_answer(NULL));
	turn(&rig);
	assert_string_equal(hear(descriptor), "{\"ok\":true}\n");
	assert_false(is_closed(descriptor));
	clients_answer(rig.clients, rig.client, request_answer(NULL));
	turn(&rig);
	assert_string_equal(hear(descriptor), "{\"ok\":true}\n");
	assert_true(is_closed(descriptor));
	close(descriptor);
	rig_finish(&rig);
}

static void test_answer_to_nobody(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	rig.hold = true;
	int descriptor = connect_to(rig.path);
	say(&rig, descriptor, "{\"ask\":\"status\"}\n");
	struct linger linger = {1, 0}; /* gone at once */
	setsockopt(descriptor, SOL_SOCKET, SO_LINGER, &linger, sizeof linger);
	close(descriptor);
	clients_answer(rig.clients, rig.client, request_answer(NULL));
	clients_send_json(rig.clients, CLIENTS_ALL, json_object());
	turn(&rig);
	clients_answer(rig.clients, 12345, request_answer(NULL));
	rig_finish(&rig);
}

static void test_too_many_requests(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	rig.hold = true;
	int descriptor = connect_to(rig.path);
	for (int i = 0; i < CLIENTS_PENDING_MAX; i++)
		say(&rig, descriptor, "{\"ask\":\"status\"}\n");
	assert_string_equal(hear(descriptor), "");
	say(&rig, descriptor, "{\"ask\":\"status\",\"id\":7}\n");
	assert_non_null(strstr(hear(descriptor), "\"id\":7,\"ok\":false"));
	assert_int_equal(rig.request_count, CLIENTS_PENDING_MAX);
	close(descriptor);
	rig_finish(&rig);
}

static void send_live(struct rig *rig, size_t press, int64_t time_ns, bool changed)
{
	struct mono_time time = {time_ns};
	struct live live = {.phase = PHASE_IDLE, .time = time};

	if (clients_want_live(rig->clients, press, time, changed))
		clients_send_live(
			rig->clients, press, press ? "south" : "north", time, changed, &live, time);
}

static size_t count_lines(const char *text)
{
	size_t count = 0;

	for (; (text = strchr(text, '\n')); text++)
		count++;
	return count;
}

static int watcher(struct rig *rig, int press, int64_t interval_ns)
{
	int descriptor = connect_to(rig->path);

	say(rig, descriptor, "{\"ask\":\"watch\"}\n");
	clients_watch(rig->clients, rig->client, press, interval_ns);
	hear(descriptor);
	return descriptor;
}

static void test_intervals(void **state)
{
	struct rig rig;
	int64_t now_ns = now_mono().ns;

	(void)state;
	rig_init(&rig);
	assert_false(clients_want_live(rig.clients, 0, now_mono(), true));
	int all = watcher(&rig, CLIENTS_ALL, 0);
	int slow = watcher(&rig, 0, 50 * CLOCKS_NS_PER_MS);
	int other = watcher(&rig, 1, 0);
	for (int i = 0; i < 100; i++)
		send_live(&rig, 0, now_ns + i * CLOCKS_NS_PER_MS, i == 60);
	assert_int_equal(count_lines(hear(all)), 100);
	/* at 0, 50, and the change at 60 */
	assert_int_equal(count_lines(hear(slow)), 3);
	assert_string_equal(hear(other), "");
	send_live(&rig, 1, now_ns, false);
	assert_int_equal(count_lines(hear(all)), 1);
	assert_string_equal(hear(slow), "");
	assert_int_equal(count_lines(hear(other)), 1);
	clients_send_json(rig.clients, 0, json_object());
	clients_send_json(rig.clients, CLIENTS_ALL, json_object());
	assert_string_equal(hear(all), "{}\n{}\n");
	assert_string_equal(hear(slow), "{}\n{}\n");
	assert_string_equal(hear(other), "{}\n");
	close(all);
	close(slow);
	close(other);
	rig_finish(&rig);
}

/* Reads one line, which must be there. */
static void read_line(int descriptor, char *text, size_t size)
{
	size_t length = 0;

	do {
		assert_true(length + 1 < size);
		assert_int_equal(recv(descriptor, text + length, 1, 0), 1);
	} while (text[length++] != '\n');
	text[length] = '\0';
}

/* It loses live lines, is told how many, and loses nothing else; its neighbour loses nothing. */
static void test_slow_watcher(void **state)
{
	char text[2048];
	struct rig rig;
	size_t live_count = 0, other_count = 0, skipped = 0;
	int64_t time_ns = now_mono().ns;
	enum { ROUNDS = 8000, EACH = 100 };

	(void)state;
	rig_init(&rig);
	int slow = watcher(&rig, CLIENTS_ALL, 0);
	int quick = watcher(&rig, CLIENTS_ALL, 0);
	size_t quick_count = 0;
	for (int i = 0; i < ROUNDS; i++) {
		send_live(&rig, 0, time_ns++, false);
		if (i % EACH == 0)
			clients_send_json(rig.clients, 0, json_object());
		uv_run(&rig.loop, UV_RUN_NOWAIT);
		quick_count += count_lines(hear(quick));
	}
	assert_int_equal(quick_count, ROUNDS + ROUNDS / EACH);
	/* The slow one catches up, and the next line tells it what it missed. */
	bool told = false;
	while (!told) {
		struct pollfd ready = {.fd = slow, .events = POLLIN};

		turn(&rig);
		if (poll(&ready, 1, 0) == 0)
			send_live(&rig, 0, time_ns++, false);
		read_line(slow, text, sizeof text);
		live_count += strstr(text, "\"live\"") != NULL;
		other_count += strcmp(text, "{}\n") == 0;
		told = strstr(text, "\"skipped\":") != NULL;
	}
	live_count--; /* the one that told */
	const char *mark = strstr(text, "\"skipped\":");
	skipped = strtoul(mark + strlen("\"skipped\":"), NULL, 10);
	assert_true(skipped > 0);
	assert_int_equal(live_count + skipped, ROUNDS);
	assert_int_equal(other_count, ROUNDS / EACH);
	close(slow);
	close(quick);
	rig_finish(&rig);
}

/* However many requests come at once, a turn of the loop serves a few; none is lost, and what is
 * asked by others comes in between. */
static void test_flood_takes_turns(void **state)
{
	enum { FLOOD = 3000 };
	static const char LINE[] = "{\"ask\":\"status\"}\n";
	char *lines = malloc(FLOOD * (sizeof LINE - 1));
	struct rig rig;
	size_t got = 0, before = 0, longest = 0;

	(void)state;
	rig_init(&rig);
	int flood = connect_to(rig.path), other = connect_to(rig.path);
	turn(&rig);
	for (size_t i = 0; i < FLOOD; i++)
		memcpy(lines + i * (sizeof LINE - 1), LINE, sizeof LINE - 1);
	assert_int_equal(write(flood, lines, FLOOD * (sizeof LINE - 1)), FLOOD * (sizeof LINE - 1));
	shutdown(flood, SHUT_WR);
	assert_true(write(other, LINE, sizeof LINE - 1) > 0);
	for (int i = 0; i < 10; i++) {
		uv_run(&rig.loop, UV_RUN_NOWAIT);
		longest =
			rig.request_count - before > longest ? rig.request_count - before : longest;
		before = rig.request_count;
	}
	assert_true(longest > 0 && longest <= 16);
	assert_string_equal(hear(other), "{\"ok\":true}\n");
	for (int i = 0; i < FLOOD && !is_closed(flood); i++) {
		for (const char *text = hear(flood); (text = strchr(text, '\n')); text++)
			got++;
		turn(&rig);
	}
	assert_int_equal(got, FLOOD);
	assert_int_equal(rig.request_count, FLOOD + 1);
	free(lines);
	close(flood);
	close(other);
	rig_finish(&rig);
}

/* One that asks and does not read is served again when it has read. */
static void test_asks_more_than_it_reads(void **state)
{
	static const char LINE[] = "{\"ask\":\"status\",\"id\":\"%04000d\"}\n";
	char line[4096];
	struct rig rig;
	size_t got = 0, asked = 0;

	(void)state;
	rig_init(&rig);
	int descriptor = connect_to(rig.path);
	int length = snprintf(line, sizeof line, LINE, 7);
	for (; asked < 5000; asked++) {
		if (send(descriptor, line, (size_t)length, MSG_DONTWAIT) != length)
			break;
		turn(&rig);
	}
	/* what is owed, and what the two sockets hold */
	assert_true(asked > 64 && asked < 1000);
	for (int i = 0; i < 10000 && got < asked; i++) {
		for (const char *text = hear(descriptor); (text = strchr(text, '\n')); text++)
			got++;
		turn(&rig);
	}
	assert_int_equal(got, asked);
	close(descriptor);
	rig_finish(&rig);
}

static void test_debtor_is_let_go(void **state)
{
	struct rig rig;
	char *line = malloc(64 * 1024);

	(void)state;
	rig_init(&rig);
	memset(line, 'x', 64 * 1024);
	int debtor = watcher(&rig, CLIENTS_ALL, 0);
	int good = watcher(&rig, CLIENTS_ALL, 0);
	for (int i = 0; i < CLIENTS_OWED_MAX / (64 * 1024) + 8; i++) {
		clients_send(rig.clients, CLIENTS_ALL, line, 64 * 1024);
		for (size_t got = 0; got < 64 * 1024; turn(&rig))
			got += strlen(hear(good));
	}
	while (hear(debtor)[0])
		turn(&rig);
	assert_true(is_closed(debtor));
	clients_send_json(rig.clients, CLIENTS_ALL, json_object());
	assert_string_equal(hear(good), "{}\n");
	free(line);
	close(debtor);
	close(good);
	rig_finish(&rig);
}

/* It owes little, but takes nothing of it. */
static void test_stuck_watcher(void **state)
{
	struct rig rig;
	static char line[256 * 1024];
	int64_t begun_ns = now_mono().ns;

	(void)state;
	rig_init(&rig);
	memset(line, 'x', sizeof line);
	int stuck = watcher(&rig, CLIENTS_ALL, 0);
	clients_send(rig.clients, CLIENTS_ALL, line, sizeof line);
	clients_send(rig.clients, CLIENTS_ALL, line, sizeof line);
	struct pollfd ready = {.fd = stuck, .events = POLLRDHUP};
	while (!(poll(&ready, 1, 0) > 0 && (ready.revents & POLLRDHUP)))
		uv_run(&rig.loop, UV_RUN_ONCE);
	assert_in_range(now_mono().ns - begun_ns, CLIENTS_STUCK_NS, CLIENTS_STUCK_NS * 3 / 2);
	close(stuck);
	rig_finish(&rig);
}

static void test_socket_paths(void **state)
{
	struct rig rig;
	struct message why;
	struct clients_hooks hooks = {&rig, on_request};

	(void)state;
	rig_init(&rig);
	/* in use */
	struct clients *second = clients_create(&rig.loop, &hooks);
	assert_false(clients_listen(second, rig.path, &why));
	assert_non_null(strstr(why.text, "in use"));
	clients_stop(second);
	turn(&rig);
	clients_destroy(second);
	/* left over */
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int dead = socket(AF_UNIX, SOCK_STREAM, 0);
	snprintf(address.sun_path, sizeof address.sun_path, "%s/dead", rig.folder);
	assert_int_equal(bind(dead, (struct sockaddr *)&address, sizeof address), 0);
	close(dead);
	second = clients_create(&rig.loop, &hooks);
	assert_true(clients_listen(second, address.sun_path, &why));
	int descriptor = connect_to(address.sun_path);
	close(descriptor);
	clients_stop(second);
	turn(&rig);
	clients_destroy(second);
	/* no socket; no such folder; too long */
	second = clients_create(&rig.loop, &hooks);
	assert_false(clients_listen(second, rig.folder, &why));
	assert_non_null(strstr(why.text, "no socket"));
	assert_false(clients_listen(second, "/nonexistent/socket", &why));
	assert_non_null(strstr(why.text, "/nonexistent/socket"));
	char path[200] = "/tmp/";
	memset(path + 5, 'x', sizeof path - 6);
	assert_false(clients_listen(second, path, &why));
	assert_non_null(strstr(why.text, "107 bytes"));
	clients_stop(second);
	turn(&rig);
	clients_destroy(second);
	rig_finish(&rig);
}

/* With an argument: the slow ones. */
int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_lines_however_cut),
		cmocka_unit_test(test_long_line),
		cmocka_unit_test(test_half_closed),
		cmocka_unit_test(test_answer_to_nobody),
		cmocka_unit_test(test_too_many_requests),
		cmocka_unit_test(test_intervals),
		cmocka_unit_test(test_slow_watcher),
		cmocka_unit_test(test_flood_takes_turns),
		cmocka_unit_test(test_asks_more_than_it_reads),
		cmocka_unit_test(test_debtor_is_let_go),
		cmocka_unit_test(test_socket_paths),
	};

	const struct CMUnitTest slow[] = {
		cmocka_unit_test(test_stuck_watcher),
	};

	(void)argv;
	signal(SIGPIPE, SIG_IGN); /* as daemon_init does */
	return argc > 1 ? cmocka_run_group_tests(slow, NULL, NULL)
			: cmocka_run_group_tests(tests, NULL, NULL);
}
