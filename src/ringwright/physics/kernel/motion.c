/* The moving yarn in time: what kernel/arrays.py is to balloon.c, motion/moment.py and motion/stepping.py are to this.
 * It steps the equations of docs/explanation/off-centre.md by the generalised-alpha method with a given, constant
 * inverse of the step's matrix, and gives back control as soon as a step does not settle with it.
 *
 * All numbers are dimensionless.  Arrays of three components are stored component by component, so that the inner
 * loops run along the yarn.  Matrices come transposed for the same reason.
 */
#include <math.h>
#include <string.h>

#define PIECES_MOST 48
#define POINTS (PIECES_MOST + 1)
#define UNKNOWNS_MOST (8 * PIECES_MOST)
#define SEEN_ROWS 9
#define FORCE 0.01 /* a tension or bend counts as settled at a hundredfold of what a place does */

enum { M_FEED, M_DRAG, M_GRAVITY, M_HEIGHT, M_COP, M_RING_FRICTION, M_YARN_FRICTION, M_FIXED_RATIO, M_MASS,
       M_CONTROL_RADIUS, M_CONTROL_DEPTH, M_CONTROL_FRICTION, M_STRETCH, M_REST_LENGTH, M_SOFT, M_RAMP,
       M_OFFSETS, M_NUMBERS = M_OFFSETS + 6 };

typedef struct {
    int pieces, spans, moving, count;
    const double *n;                                    /* the numbers above */
    const double *places, *weights, *shares, *slope, *between, *gather, *top; /* of the grid */
    const double *rest;                                 /* tension at rest, [spans][pieces] */
} strand;

typedef struct { double at[3], rate[3], change[3]; } point;
typedef struct { double at, rate, change; } number;
typedef double points[3][POINTS];

static double dot3(const double *a, const double *b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }

/* out[c][j] = by * sum over k of matrix[k][j] in[c][k]. */
static void apply(const double *matrix, int from, int to, double by, const points in, points out)
{
    for (int c = 0; c < 3; c++) {
        double sum[POINTS] = {0};
        for (int k = 0; k < from; k++) {
            const double f = in[c][k];
            for (int j = 0; j < to; j++) sum[j] += matrix[k * to + j] * f;
        }
        for (int j = 0; j < to; j++) out[c][j] = by * sum[j];
    }
}

static point offset_of(const strand *s, int part, double time)
{
    double share = 1, rate = 0, change = 0;
    const double ramp = s->n[M_RAMP], *o = s->n + M_OFFSETS + 2 * part;
    if (time < ramp) {
        const double x = time / ramp;
        share = x * x * x * (10 - 15 * x + 6 * x * x);
        rate = 30 * x * x * (1 - x) * (1 - x) / ramp;
        change = 60 * x * (1 - x) * (1 - 2 * x) / (ramp * ramp);
    }
    const double c = cos(time), d = -sin(time);
    const double x = o[0] * c - o[1] * d, y = o[0] * d + o[1] * c;
    return (point){{x * share, y * share, 0},
                   {x * rate + y * share, y * rate - x * share, 0},
                   {x * (change - share) + y * 2 * rate, y * (change - share) - x * 2 * rate, 0}};
}

static point on_circle(point centre, double radius, double depth, number a)
{
    const double c = cos(a.at), d = sin(a.at), inward = a.rate * a.rate;
    centre.at[0] += radius * c;
    centre.at[1] += radius * d;
    centre.at[2] += depth;
    centre.rate[0] -= radius * a.rate * d;
    centre.rate[1] += radius * a.rate * c;
    centre.change[0] += radius * (-a.change * d - inward * c);
    centre.change[1] += radius * (a.change * c - inward * d);
    return centre;
}

static void wind_on(double cop, const double *at, double *wind)
{
    const double square = at[0] * at[0] + at[1] * at[1], straight = sqrt(square - cop * cop);
    const double inward = -straight / square, forward = cop / square;
    wind[0] = inward * at[0] - forward * at[1];
    wind[1] = inward * at[1] + forward * at[0];
    wind[2] = 0;
}

static number yarn_length(const strand *s, const point *p, double angle)
{
    const double cop = s->n[M_COP], x = p->at[0], y = p->at[1], vx = p->rate[0], vy = p->rate[1];
    const double square = x * x + y * y, radius = sqrt(square), straight = sqrt(square - cop * cop);
    const double c = cos(angle), d = sin(angle);
    const double azimuth = angle + atan((c * y - d * x) / (c * x + d * y)) + acos(cop / radius);
    double wind[3];
    wind_on(cop, p->at, wind);
    const double turning = (x * vy - y * vx) / square + cop * (x * vx + y * vy) / (square * straight);
    return (number){s->n[M_REST_LENGTH] + cop * (azimuth - acos(cop)) - (straight - sqrt(1 - cop * cop)),
                    dot3(wind, p->rate),
                    dot3(wind, p->change) + turning * (wind[0] * vy - wind[1] * vx)};
}

typedef struct { double upper[3], lower[3], tension, content; } span_ends;

/* One span: fills momentum [pieces - 1][3] and constraint [pieces]. */
static span_ends span_of(const strand *s, points at[3], number start, number length, const double *tension,
                         const double *rest, double *momentum, double *constraint)
{
    const int N = s->pieces;
    const double by = 1 / length.at, u = s->n[M_FEED], stretch = s->n[M_STRETCH], drag = s->n[M_DRAG];
    points slope, swing, curve, between, force, pull;
    double past[POINTS], past_rate[POINTS];
    span_ends e = {{0}, {0}, 0, 0};
    for (int j = 0; j <= N; j++) {
        past[j] = u - start.rate - s->places[j] * length.rate;
        past_rate[j] = -start.change - s->places[j] * length.change - 2 * past[j] * length.rate * by;
    }
    apply(s->slope, N + 1, N + 1, by, at[0], slope);
    apply(s->slope, N + 1, N + 1, by, at[1], swing);
    apply(s->slope, N + 1, N + 1, by, slope, curve);
    apply(s->between, N + 1, N, by, at[0], between);
    for (int j = 0; j < N; j++) {
        const double size = sqrt(between[0][j] * between[0][j] + between[1][j] * between[1][j] + between[2][j] * between[2][j]);
        const double natural = 1 + stretch * (tension[j] - rest[j]);
        for (int c = 0; c < 3; c++) force[c][j] = tension[j] * between[c][j];
        constraint[j] = size - natural;
        e.content += length.at * s->weights[j] * size / natural;
        e.tension += s->top[j] * tension[j];
    }
    apply(s->gather, N, N + 1, 1, force, pull);
    for (int j = 0; j <= N; j++) {
        const double t_size = sqrt(slope[0][j] * slope[0][j] + slope[1][j] * slope[1][j] + slope[2][j] * slope[2][j]);
        const double t[3] = {slope[0][j] / t_size, slope[1][j] / t_size, slope[2][j] / t_size};
        const double p = past[j], q = past_rate[j], share = length.at * s->shares[j];
        double v[3] = {at[1][0][j] - at[0][1][j], at[1][1][j] + at[0][0][j], at[1][2][j]}, body[3];
        const double along = dot3(v, t);
        for (int c = 0; c < 3; c++) v[c] -= along * t[c];
        const double air = drag * sqrt(dot3(v, v));
        for (int c = 0; c < 3; c++)
            body[c] = at[2][c][j] + 2 * p * swing[c][j] + p * p * curve[c][j] + q * slope[c][j] + air * v[c];
        body[0] -= 2 * (at[1][1][j] + p * slope[1][j]) + at[0][0][j];
        body[1] += 2 * (at[1][0][j] + p * slope[0][j]) - at[0][1][j];
        body[2] -= s->n[M_GRAVITY];
        for (int c = 0; c < 3; c++) {
            const double balance = share * body[c] + pull[c][j];
            if (j == 0) e.upper[c] = -balance - p * p * t[c];
            else if (j == N) e.lower[c] = balance - p * p * t[c];
            else momentum[3 * (j - 1) + c] = balance / share;
        }
    }
    return e;
}

static double traveller(const strand *s, const double *pull, const point *place, number angle, double flow, double *seen)
{
    const double *n = s->n, c = cos(angle.at), d = sin(angle.at), tension = sqrt(dot3(pull, pull));
    double wind[3];
    wind_on(n[M_COP], place->at, wind);
    const double sense = n[M_SOFT] > 0 ? tanh(flow / n[M_SOFT]) : 1;
    const double grip = n[M_FIXED_RATIO] > 0 ? log(n[M_FIXED_RATIO]) : n[M_YARN_FRICTION] * acos(dot3(pull, wind) / tension);
    const double winding = tension * exp(sense * grip), speed = 1 + angle.rate;
    const double radial = n[M_MASS] * speed * speed - (pull[0] * c + pull[1] * d) + winding * (wind[0] * c + wind[1] * d);
    const double normal = sqrt(radial * radial + pull[2] * pull[2]);
    seen[1] = tension + flow * flow;
    seen[2] = winding + flow * flow;
    seen[3] = flow;
    seen[7] = normal;
    return pull[1] * c - pull[0] * d - winding * (wind[1] * c - wind[0] * d) + n[M_RING_FRICTION] * normal
           + n[M_MASS] * angle.change;
}

/* The force above the control ring, turned outwards by the bend, with the friction of the wire; see contacts.py. */
static void through_control_ring(const strand *s, const double *q, number azimuth, double bend, double slip, double *out)
{
    const double c = cos(azimuth.at), d = sin(azimuth.at), mu = s->n[M_CONTROL_FRICTION];
    const double q_r = c * q[0] + d * q[1], q_t = c * q[1] - d * q[0], meridian = sqrt(q_r * q_r + q[2] * q[2]);
    const double lean = q_t / meridian, gain = 1 + slip * (asinh(lean + mu * bend) - asinh(lean));
    const double r = gain * (q_r * cos(bend) + q[2] * sin(bend)), t = q_t + mu * meridian * bend;
    out[0] = c * r - d * t;
    out[1] = d * r + c * t;
    out[2] = gain * (q[2] * cos(bend) - q_r * sin(bend));
}

static void spread(const strand *s, int span, const double *z, const double *first, const double *last, points out)
{
    const int N = s->pieces;
    const double *inner = z + 3 * (N - 1) * span;
    for (int c = 0; c < 3; c++) {
        out[c][0] = first[c];
        out[c][N] = last[c];
        for (int j = 1; j < N; j++) out[c][j] = inner[3 * (j - 1) + c];
    }
}

/* What is missing in the equations at a moment, in the order of moment.py. */
static void lacking(const strand *s, const double *z, const double *rate, const double *change, double time,
                    double *lack, double *seen)
{
    const int N = s->pieces, inner = 3 * (N - 1) * s->spans;
    const double *n = s->n, *state[3] = {z, rate, change};
    const number angle = {z[inner], rate[inner], change[inner]};
    const point guide = offset_of(s, 1, time), place = on_circle(offset_of(s, 0, time), 1, n[M_HEIGHT], angle);
    const number length = yarn_length(s, &place, angle.at);
    number start[2] = {{0, 0, 0}, {0, 0, 0}}, extent[2] = {length, length}, contact = {0, 0, 0};
    point ends[3] = {guide, place, place};
    if (s->spans == 2) {
        contact = (number){z[inner + 1], rate[inner + 1], change[inner + 1]};
        start[1] = extent[0] = (number){z[inner + 2], rate[inner + 2], change[inner + 2]};
        extent[1] = (number){length.at - start[1].at, length.rate - start[1].rate, length.change - start[1].change};
        ends[1] = on_circle(offset_of(s, 2, time), n[M_CONTROL_RADIUS], n[M_CONTROL_DEPTH], contact);
    }
    double *constraint = lack + inner + (s->spans == 2 ? 4 : 1);
    span_ends e[2];
    seen[5] = 0;
    for (int i = 0; i < s->spans; i++) {
        points at[3];
        for (int o = 0; o < 3; o++) {
            const double *first = o == 0 ? ends[i].at : o == 1 ? ends[i].rate : ends[i].change;
            const double *last = o == 0 ? ends[i + 1].at : o == 1 ? ends[i + 1].rate : ends[i + 1].change;
            spread(s, i, state[o], first, last, at[o]);
        }
        e[i] = span_of(s, at, start[i], extent[i], z + s->moving + i * N, s->rest + i * N, lack + 3 * (N - 1) * i,
                       constraint + i * N);
        seen[5] += e[i].content;
    }
    seen[0] = e[0].tension;
    seen[4] = length.at;
    seen[6] = angle.at;
    lack[inner] = traveller(s, e[s->spans - 1].lower, &place, angle, n[M_FEED] - length.rate, seen);
    seen[8] = 0;
    if (s->spans == 2) {
        double passed[3];
        const double bend = z[s->count - 1], slip = -start[1].rate / (n[M_CONTROL_RADIUS] * (1 + contact.rate));
        through_control_ring(s, e[0].lower, contact, bend, slip, passed);
        for (int c = 0; c < 3; c++) lack[inner + 1 + c] = e[1].upper[c] - passed[c];
        seen[8] = bend;
    }
}

/* sizes: pieces, spans, moving, count, steps, rounds.  method: step, alpha_m, alpha_f, beta, gamma, settled, time.
 * grid: places, weights, place_weights, slope, slope_between, gather (transposed), ends[0], one after the other;
 * inverse: transposed.
 * state: z, z', z'', smoothed z'' [4][count], changed in place.  seen: [steps][9].  Returns the steps done; fewer than
 * asked where one did not settle, and the state is then that before it. */
int rw_march(const int *sizes, const double *numbers, const double *grid, const double *rest, const double *inverse,
             const double *method, double *state, double *seen)
{
    const int N = sizes[0], count = sizes[3], moving = sizes[2];
    if (N > PIECES_MOST || count > UNKNOWNS_MOST) return -1;
    strand s = {.pieces = N, .spans = sizes[1], .moving = moving, .count = count, .n = numbers, .rest = rest};
    s.places = grid;
    s.weights = s.places + N + 1;
    s.shares = s.weights + N;
    s.slope = s.shares + N + 1;
    s.between = s.slope + (N + 1) * (N + 1);
    s.gather = s.between + (N + 1) * N;
    s.top = s.gather + N * (N + 1);
    const double h = method[0], am = method[1], af = method[2], beta = method[3], gamma = method[4], settled = method[5];
    const double by_rate = gamma / (beta * h), by_change = (1 - am) / (beta * h * h * (1 - af));
    double *z = state, *rate = state + count, *change = state + 2 * count, *smoothed = state + 3 * count;
    double new[4][UNKNOWNS_MOST], lack[UNKNOWNS_MOST], move[UNKNOWNS_MOST];
    for (int step = 0; step < sizes[4]; step++) {
        const double time = method[6] + (step + 1) * h;
        memset(new, 0, sizeof new);
        for (int i = 0; i < count; i++) new[0][i] = z[i];
        for (int i = 0; i < moving; i++) {
            new[3][i] = (af * change[i] - am * smoothed[i]) / (1 - am);
            new[0][i] += h * rate[i] + h * h * ((0.5 - beta) * smoothed[i] + beta * new[3][i]);
            new[1][i] = rate[i] + h * ((1 - gamma) * smoothed[i] + gamma * new[3][i]);
        }
        int done = 0;
        double moved = INFINITY; /* the largest change of the last round */
        for (int round = 0; round <= sizes[5]; round++) {
            lacking(&s, new[0], new[1], new[2], time, lack, seen + step * SEEN_ROWS);
            if (moved < settled) {
                done = 1;
                break;
            }
            if (!(moved < 1e6) && round) break;
            memset(move, 0, sizeof move);
            for (int j = 0; j < count; j++) {
                const double f = -lack[j];
                for (int i = 0; i < count; i++) move[i] += inverse[j * count + i] * f;
            }
            moved = 0;
            for (int i = 0; i < count; i++) {
                new[0][i] += move[i];
                const double by = fabs(move[i]) * (i < moving ? 1 : FORCE);
                if (!(by <= moved)) moved = by;
            }
            for (int i = 0; i < moving; i++) {
                new[1][i] += by_rate * move[i];
                new[2][i] += by_change * move[i];
            }
        }
        if (!done) return step;
        for (int i = 0; i < moving; i++) new[3][i] += (1 - af) / (1 - am) * new[2][i];
        for (int o = 0; o < 4; o++) memcpy(state + o * count, new[o], sizeof(double) * count);
    }
    return sizes[4];
}
