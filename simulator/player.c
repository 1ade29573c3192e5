/* SPDX-License-Identifier: MIT
 *
 * Steps from line to line. Times are computed from the line's number within a piece, so that no
 * rounding adds up.
 */
#include "player.h"

#include "base/units.h"

#include <assert.h>
#include <math.h>

static int64_t ns_of(double seconds)
{
	return llround(seconds * (double)CLOCKS_NS_PER_S);
}

static double seconds_of(int64_t ns)
{
	return (double)ns / (double)CLOCKS_NS_PER_S;
}

static double newton_of(const struct sample *sample)
{
	return (double)sample->load_un / (double)UNITS_UN_PER_N;
}

void player_init(struct player *player, const struct player_setup *setup)
{
	assert(setup->line_hz > 0 && setup->speed > 0);
	*player = (struct player){.setup = *setup};
}

void player_start(struct player *player)
{
	player->started = true;
}

void player_hold(struct player *player, double load_newton)
{
	player->held_newton = load_newton;
}

static const struct player_piece *piece_now(const struct player *player)
{
	return &player->setup.pieces[player->piece];
}

static bool plays_samples(const struct player *player)
{
	return player->setup.recorded_times && piece_now(player)->named == NULL;
}

/* Between the samples in a straight line. */
static double recorded_load_newton(const struct curve *curve, double time_s)
{
	int64_t time_ns = curve->samples[0].time.ns + ns_of(time_s);
	size_t low = 0, high = curve->count - 1;
	if (time_ns >= curve->samples[high].time.ns)
		return newton_of(&curve->samples[high]);
	while (high - low > 1) {
		size_t middle = low + (high - low) / 2;
		if (curve->samples[middle].time.ns <= time_ns)
			low = middle;
		else
			high = middle;
	}
	const struct sample *a = &curve->samples[low], *b = &curve->samples[high];
	double part = (double)(time_ns - a->time.ns) / (double)(b->time.ns - a->time.ns);
	return newton_of(a) + part * (newton_of(b) - newton_of(a));
}

static double piece_duration_s(const struct player *player)
{
	const struct player_piece *piece = piece_now(player);
	if (piece->named != NULL)
		return curves_duration_s(piece->named, &player->setup.specimen);
	const struct curve *curve = &piece->recorded;
	return seconds_of(curve->samples[curve->count - 1].time.ns - curve->samples[0].time.ns);
}

static double piece_load_newton(const struct player *player, double time_s)
{
	const struct player_piece *piece = piece_now(player);
	if (piece->named != NULL)
		return curves_load_newton(piece->named, &player->setup.specimen, time_s);
	return recorded_load_newton(&piece->recorded, time_s);
}

static double disturbance_newton(
	const struct player_setup *setup, struct random *random, double load_newton, double time_s)
{
	/* A regulator hunts and a pump pulsates against a load, not against air. */
	double bearing = fmin(1, fmax(0, load_newton) / 1000);
	double turn = 2 * acos(-1) * time_s;
	double waves = setup->ripple_newton * sin(turn * setup->ripple_hz) +
		       setup->hunting_newton * sin(turn * setup->hunting_hz);
	return bearing * waves + setup->noise_newton * random_normal(random);
}

static void begin_piece(struct player *player)
{
	player->playing = true;
	player->started = false;
	player->begin_ns = player->next_ns;
	player->sample = 0;
}

static void end_piece(struct player *player)
{
	player->playing = false;
	player->idle_ns = player->next_ns;
	player->piece++;
}

static bool may_begin(const struct player *player)
{
	const struct player_setup *setup = &player->setup;
	if (player->playing || player->piece == setup->piece_count)
		return false;
	if (setup->start_on_command)
		return player->started;
	return player->next_ns - player->idle_ns >= ns_of(setup->pause_s);
}

/* The load of this line and the time of the one after it. */
static void play_line(struct player *player, struct player_tick *tick)
{
	const struct player_setup *setup = &player->setup;
	if (!plays_samples(player)) {
		double time_s = seconds_of(player->next_ns - player->begin_ns) * setup->speed;
		tick->load_newton = piece_load_newton(player, time_s);
		tick->ends = time_s >= piece_duration_s(player);
		player->next_ns += ns_of(1 / setup->line_hz);
		return;
	}
	const struct curve *curve = &piece_now(player)->recorded;
	tick->load_newton = newton_of(&curve->samples[player->sample++]);
	tick->ends = player->sample == curve->count;
	int64_t after_ns = tick->ends
				   ? player->next_ns - player->begin_ns + ns_of(1 / setup->line_hz)
				   : ns_of(seconds_of(curve->samples[player->sample].time.ns -
						      curve->samples[0].time.ns) /
					     setup->speed);
	player->next_ns = player->begin_ns + after_ns;
}

bool player_next(struct player *player, struct random *random, struct player_tick *tick)
{
	const struct player_setup *setup = &player->setup;
	*tick = (struct player_tick){.time_ns = player->next_ns};
	tick->begins = may_begin(player);
	if (tick->begins)
		begin_piece(player);
	tick->piece = player->piece;
	if (player->playing) {
		play_line(player, tick);
		if (tick->ends)
			end_piece(player);
	} else {
		tick->load_newton = player->held_newton;
		player->next_ns += ns_of(1 / setup->line_hz);
	}
	tick->load_newton +=
		setup->zero_newton +
		disturbance_newton(setup, random, tick->load_newton, seconds_of(tick->time_ns));
	return setup->piece_count == 0 || setup->start_on_command || player->playing ||
	       player->piece < setup->piece_count ||
	       player->next_ns - player->idle_ns < ns_of(setup->pause_s);
}
