/* The balloon for many cases at once: one span of it in depth z with tangents, and a whole shot from the guide to the
 * traveller with its slopes.  Both do, step by step, what kernel/arrays.py, shoot.py and traveller.py do with NumPy;
 * tests hold the two routes together.
 *
 * The equations are those of docs/explanation/balloon.md: with q = (T - u^2) t, unit tangent t and depth z,
 *   dR/dz = q / q_z,
 *   dq/dz = (|q|/q_z) [ -(x, y, 0) + 2u(-t_y, t_x, 0) + P |v_n| v_n - G e_z ],   v = (-y, x, 0),
 * lengths in ring radii, forces in m w^2 a^2.  The sixth state is the yarn length.  A tangent is the derivative of the
 * first five states with respect to one unknown of the shooting problem.
 *
 * The method is the eighth-order, eleven-stage explicit Runge-Kutta method of Cooper and Verner (1972), as printed in
 * Butcher, Numerical Methods for Ordinary Differential Equations, table 'p = 8' (from memory; its order is tested).
 *
 * LANES cases move together in one vector; the compiler maps it to what the processor has.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LANES 8
#define STATES 6
#define STAGES 11
#define TANGENTS_MOST 3
#define ROWS_MOST (STATES + 5 * TANGENTS_MOST)

typedef double lane __attribute__((vector_size(8 * LANES)));

static inline lane root(lane a)
{
    lane b;
    for (int i = 0; i < LANES; i++) b[i] = sqrt(a[i]);
    return b;
}

typedef struct {
    lane drag, feed2, gravity; /* P = p0/16, 2u, G */
} air;

/* d/dz of the states y and of `tangents` tangents behind them. */
static inline void slope(const air *a, int tangents, const lane *y, lane *k)
{
    const lane tiny = (lane){0} + 1e-300;
    lane X = y[0], Y = y[1], qx = y[2], qy = y[3], qz = y[4];
    lane q = root(qx * qx + qy * qy + qz * qz);
    lane iq = 1.0 / q, iz = 1.0 / qz;
    lane tx = qx * iq, ty = qy * iq, tz = qz * iq;
    lane w = X * ty - Y * tx; /* v . t */
    lane nx = -Y - w * tx, ny = X - w * ty, nz = -w * tz;
    lane n = root(nx * nx + ny * ny + nz * nz);
    lane Pn = a->drag * n;
    lane ax = -X - a->feed2 * ty + Pn * nx;
    lane ay = -Y + a->feed2 * tx + Pn * ny;
    lane az = Pn * nz - a->gravity;
    lane f = q * iz;
    k[0] = qx * iz;
    k[1] = qy * iz;
    k[2] = f * ax;
    k[3] = f * ay;
    k[4] = f * az;
    k[5] = f;
    lane Pin = a->drag / (n + tiny);
    for (int j = 0; j < tangents; j++) {
        const lane *d = y + STATES + 5 * j;
        lane *dk = k + STATES + 5 * j;
        lane dX = d[0], dY = d[1], dqx = d[2], dqy = d[3], dqz = d[4];
        lane dq = tx * dqx + ty * dqy + tz * dqz;
        lane dtx = (dqx - tx * dq) * iq, dty = (dqy - ty * dq) * iq, dtz = (dqz - tz * dq) * iq;
        lane dw = dX * ty + X * dty - dY * tx - Y * dtx;
        lane dnx = -dY - dw * tx - w * dtx, dny = dX - dw * ty - w * dty, dnz = -dw * tz - w * dtz;
        lane dPn = Pin * (nx * dnx + ny * dny + nz * dnz);
        lane df = (dq - f * dqz) * iz;
        dk[0] = (dqx - k[0] * dqz) * iz;
        dk[1] = (dqy - k[1] * dqz) * iz;
        dk[2] = df * ax + f * (-dX - a->feed2 * dty + dPn * nx + Pn * dnx);
        dk[3] = df * ay + f * (-dY + a->feed2 * dtx + dPn * ny + Pn * dny);
        dk[4] = df * az + f * (dPn * nz + Pn * dnz);
    }
}

#define S 4.58257569495584000658804719372800848898445657676797 /* square root of 21 */

typedef struct {
    int from;
    double weight;
} term;

static const term STAGE[STAGES - 1][6] = {
    {{0, 0.5}},
    {{0, 0.25}, {1, 0.25}},
    {{0, 1.0 / 7}, {1, (-7 - 3 * S) / 98}, {2, (21 + 5 * S) / 49}},
    {{0, (11 + S) / 84}, {2, (18 + 4 * S) / 63}, {3, (21 - S) / 252}},
    {{0, (5 + S) / 48}, {2, (9 + S) / 36}, {3, (-231 + 14 * S) / 360}, {4, (63 - 7 * S) / 80}},
    {{0, (10 - S) / 42}, {2, (-432 + 92 * S) / 315}, {3, (633 - 145 * S) / 90}, {4, (-504 + 115 * S) / 70},
     {5, (63 - 13 * S) / 35}},
    {{0, 1.0 / 14}, {4, (14 - 3 * S) / 126}, {5, (13 - 3 * S) / 63}, {6, 1.0 / 9}},
    {{0, 1.0 / 32}, {4, (91 - 21 * S) / 576}, {5, 11.0 / 72}, {6, (-385 - 75 * S) / 1152}, {7, (63 + 13 * S) / 128}},
    {{0, 1.0 / 14}, {4, 1.0 / 9}, {5, (-733 - 147 * S) / 2205}, {6, (515 + 111 * S) / 504}, {7, (-51 - 11 * S) / 56},
     {8, (132 + 28 * S) / 245}},
    {{4, (-42 + 7 * S) / 18}, {5, (-18 + 28 * S) / 45}, {6, (-273 - 53 * S) / 72}, {7, (301 + 53 * S) / 72},
     {8, (28 - 28 * S) / 45}, {9, (49 - 7 * S) / 18}},
};
static const int TERMS[STAGES - 1] = {1, 2, 3, 3, 4, 5, 4, 5, 6, 6};
static const term LAST[5] = {{0, 1.0 / 20}, {7, 49.0 / 180}, {8, 16.0 / 45}, {9, 49.0 / 180}, {10, 1.0 / 20}};

static inline __attribute__((always_inline)) void step(const air *a, int tangents, lane dz, lane *y)
{
    const int rows = STATES + 5 * tangents;
    lane k[STAGES][ROWS_MOST], at[ROWS_MOST];
    slope(a, tangents, y, k[0]);
#pragma GCC unroll 10
    for (int i = 0; i < STAGES - 1; i++) {
        for (int r = 0; r < rows; r++) {
            lane sum = STAGE[i][0].weight * k[STAGE[i][0].from][r];
            for (int j = 1; j < TERMS[i]; j++) sum += STAGE[i][j].weight * k[STAGE[i][j].from][r];
            at[r] = y[r] + dz * sum;
        }
        slope(a, tangents, at, k[i + 1]);
    }
    for (int r = 0; r < rows; r++) {
        lane sum = LAST[0].weight * k[LAST[0].from][r];
        for (int j = 1; j < 5; j++) sum += LAST[j].weight * k[LAST[j].from][r];
        y[r] += dz * sum;
    }
}

/* One copy of the loop for each number of tangents, so that the compiler knows the row count. */
#define SPAN(T)                                                                                    \
    static void span##T(const air *a, int steps, lane dz, lane *y, double *nodes, long n, long at, int lanes) \
    {                                                                                              \
        for (int s = 0; s < steps; s++) {                                                          \
            step(a, T, dz, y);                                                                     \
            if (nodes)                                                                             \
                for (int r = 0; r < STATES; r++)                                                   \
                    for (int i = 0; i < lanes; i++) nodes[((s + 1) * (long)STATES + r) * n + at + i] = y[r][i]; \
        }                                                                                          \
    }
SPAN(0)
SPAN(2)
SPAN(3)

/* parameters: [4][n] rows p0/16, u, G, depth of the span; state: [6 + 5 tangents][n], changed in place;
 * nodes: NULL or [steps + 1][6][n].  Returns 0, or 1 for a number of tangents it does not know. */
int rw_span(long n, int steps, int tangents, const double *parameters, double *state, double *nodes)
{
    if (tangents != 0 && tangents != 2 && tangents != 3) return 1;
    const int rows = STATES + 5 * tangents;
    if (nodes) memcpy(nodes, state, sizeof(double) * STATES * n);
    for (long at = 0; at < n; at += LANES) {
        const int lanes = n - at < LANES ? (int)(n - at) : LANES;
        lane y[ROWS_MOST], p[4];
        /* Idle lanes repeat the last case, so that they never meet a number outside its range. */
        for (int r = 0; r < rows; r++)
            for (int i = 0; i < LANES; i++) y[r][i] = state[r * n + at + (i < lanes ? i : lanes - 1)];
        for (int r = 0; r < 4; r++)
            for (int i = 0; i < LANES; i++) p[r][i] = parameters[r * n + at + (i < lanes ? i : lanes - 1)];
        air a = {p[0], 2.0 * p[1], p[2]};
        lane dz = p[3] / (double)steps;
        if (tangents == 0) span0(&a, steps, dz, y, nodes, n, at, lanes);
        else if (tangents == 2) span2(&a, steps, dz, y, nodes, n, at, lanes);
        else span3(&a, steps, dz, y, nodes, n, at, lanes);
        for (int r = 0; r < rows; r++)
            for (int i = 0; i < lanes; i++) state[r * n + at + i] = y[r][i];
    }
    return 0;
}

/* ---- a whole shot: rows as Shot in shoot.py names them ---------------------------------------------------------- */

#define ANGLE 3.0
#define BEND 1.5
enum { MEET = 0, MEET_SLOPE = 2, PULL = 8, RING = 11, WINDING, WRAP, NORMAL, MASS, MASS_SLOPE, RESIDUAL = 19,
       RESIDUAL_SLOPE, MERIDIAN = 23, GAP, DRIFT, SHOT_ROWS };
enum { HEIGHT, DRAG, FEED, GRAVITY, COP, RING_FRICTION, YARN_FRICTION, FIXED_RATIO, OWN_MASS, CONTROL_RADIUS,
       CONTROL_DEPTH, CONTROL_FRICTION, CASE_ROWS };

#define EACH(name, call)                                              \
    static inline lane name(lane a)                                   \
    {                                                                 \
        lane b;                                                       \
        for (int i = 0; i < LANES; i++) b[i] = call(a[i]);            \
        return b;                                                     \
    }
EACH(lane_exp, exp)
EACH(lane_sin, sin)
EACH(lane_cos, cos)
EACH(lane_acos, acos)

static inline lane least(lane a, double most) { for (int i = 0; i < LANES; i++) if (a[i] > most) a[i] = most; return a; }
static inline lane most(lane a, double floor) { for (int i = 0; i < LANES; i++) if (a[i] < floor) a[i] = floor; return a; }
static inline lane size(lane a, lane b, lane c) { return root(a * a + b * b + c * c); }

static void run(const air *a, int steps, int tangents, lane depth, lane *y)
{
    const lane dz = depth / (double)steps;
    if (tangents == 2) span2(a, steps, dz, y, NULL, 0, 0, 0);
    else span3(a, steps, dz, y, NULL, 0, 0, 0);
}

/* r, q_r and q_t of a state, and their slopes along one tangent d. */
static inline void polar(const lane *y, lane *r, lane *q_r, lane *q_t)
{
    *r = root(y[0] * y[0] + y[1] * y[1]);
    *q_r = (y[0] * y[2] + y[1] * y[3]) / *r;
    *q_t = (y[0] * y[3] - y[1] * y[2]) / *r;
}

static inline void polar_slope(const lane *y, const lane *d, lane r, lane q_r, lane q_t, lane *dr, lane *dq_r, lane *dq_t)
{
    *dr = (y[0] * d[0] + y[1] * d[1]) / r;
    *dq_r = (d[0] * y[2] + d[1] * y[3] + y[0] * d[2] + y[1] * d[3] - q_r * *dr) / r;
    *dq_t = (d[0] * y[3] - d[1] * y[2] + y[0] * d[3] - y[1] * d[2] - q_t * *dr) / r;
}

static inline lane wander(const lane *start, const lane *end, lane gravity, lane depth)
{
    lane before = size(start[2], start[3], start[4]), after = size(end[2], end[3], end[4]);
    lane gain = 0.5 * (end[0] * end[0] + end[1] * end[1] - start[0] * start[0] - start[1] * start[1]) + gravity * depth;
    lane drift = (after + gain - before) / before;
    for (int i = 0; i < LANES; i++) drift[i] = fabs(drift[i]);
    return drift;
}

/* Pass the control ring: turn (q_r, q_z) outwards by the bend, with friction along the circle; a third tangent is added. */
static void bend_at_ring(const lane *y, lane bend, lane friction, lane r, lane q_r, lane q_t, lane *meridian, lane *o)
{
    const lane q_z = y[4], rho = root(q_r * q_r + q_z * q_z), s = lane_sin(bend), c = lane_cos(bend);
    const lane n_r = q_r * c + q_z * s, n_t = q_t + friction * rho * bend, n_z = q_z * c - q_r * s;
    *meridian = rho;
    o[0] = y[0];
    o[1] = y[1];
    o[2] = (y[0] * n_r - y[1] * n_t) / r;
    o[3] = (y[1] * n_r + y[0] * n_t) / r;
    o[4] = n_z;
    o[5] = y[5];
    for (int j = 0; j < 2; j++) {
        const lane *d = y + STATES + 5 * j;
        lane *e = o + STATES + 5 * j, dr, dq_r, dq_t;
        polar_slope(y, d, r, q_r, q_t, &dr, &dq_r, &dq_t);
        lane d_rho = (q_r * dq_r + q_z * d[4]) / rho;
        lane dn_r = dq_r * c + d[4] * s, dn_z = d[4] * c - dq_r * s, dn_t = dq_t + friction * d_rho * bend;
        e[0] = d[0];
        e[1] = d[1];
        e[2] = (d[0] * n_r + y[0] * dn_r - d[1] * n_t - y[1] * dn_t - o[2] * dr) / r;
        e[3] = (d[1] * n_r + y[1] * dn_r + d[0] * n_t + y[0] * dn_t - o[3] * dr) / r;
        e[4] = dn_z;
    }
    lane *e = o + STATES + 10;
    const lane dn_r = n_z / BEND, dn_t = friction * rho / BEND;
    e[0] = e[1] = (lane){0};
    e[2] = (y[0] * dn_r - y[1] * dn_t) / r;
    e[3] = (y[1] * dn_r + y[0] * dn_t) / r;
    e[4] = -n_r / BEND;
}

/* The traveller's balance for the pull q (rows q_r, q_t, q_z) with slopes dq[3][3] (component, unknown). */
static void balance(const lane *k, const lane *q, const lane dq[3][3], lane *out)
{
    const lane zero = {0}, sine = k[COP], cosine = root(1.0 - sine * sine);
    const lane tension = size(q[0], q[1], q[2]);
    const lane e[3] = {q[0] / tension, q[1] / tension, q[2] / tension}, wind[3] = {-cosine, sine, zero};
    const lane cos_wrap = most(least(e[0] * wind[0] + e[1] * wind[1], 1.0), -1.0), wrap = lane_acos(cos_wrap);
    lane ratio = lane_exp(k[YARN_FRICTION] * wrap), grip = k[YARN_FRICTION];
    for (int i = 0; i < LANES; i++)
        if (k[FIXED_RATIO][i] > 0.0) {
            ratio[i] = k[FIXED_RATIO][i];
            grip[i] = 0.0;
        }
    const lane winding = tension * ratio, sin_wrap = most(lane_sin(wrap), 1e-30);
    const lane mu = k[RING_FRICTION], normal = (winding * sine - q[1]) / mu;
    const lane square = normal * normal - q[2] * q[2], radial = root(most(square, 0.0));
    const lane own_radial = k[OWN_MASS] - q[0] - winding * cosine, own_normal = root(own_radial * own_radial + q[2] * q[2]);
    const lane pull = mu / own_normal;
    lane mass_by[3], residual_by[3];
    for (int c = 0; c < 3; c++) {
        const lane wrap_by = -(wind[c] - cos_wrap * e[c]) / (tension * sin_wrap);
        const lane winding_by = winding * (e[c] / tension + grip * wrap_by);
        lane normal_by = sine * winding_by / mu;
        residual_by[c] = sine * winding_by + pull * own_radial * cosine * winding_by;
        if (c == 1) {
            normal_by -= 1.0 / mu;
            residual_by[c] -= 1.0;
        }
        mass_by[c] = cosine * winding_by + normal * normal_by / radial;
        if (c == 0) {
            mass_by[c] += 1.0;
            residual_by[c] += pull * own_radial;
        }
        if (c == 2) {
            mass_by[c] -= q[2] / radial;
            residual_by[c] -= pull * q[2];
        }
    }
    out[RING] = tension;
    out[WINDING] = winding;
    out[WRAP] = wrap;
    out[NORMAL] = normal;
    out[MASS] = q[0] + winding * cosine + radial;
    out[RESIDUAL] = (winding * sine - q[1] - mu * own_normal) / k[OWN_MASS];
    for (int u = 0; u < 3; u++) {
        out[MASS_SLOPE + u] = mass_by[0] * dq[0][u] + mass_by[1] * dq[1][u] + mass_by[2] * dq[2][u];
        out[RESIDUAL_SLOPE + u] =
            (residual_by[0] * dq[0][u] + residual_by[1] * dq[1][u] + residual_by[2] * dq[2][u]) / k[OWN_MASS];
    }
}

static void shot(const lane *k, const lane *w, lane contact, int ringed, int steps, lane *out)
{
    const lane zero = {0};
    const air a = {k[DRAG], 2.0 * k[FEED], k[GRAVITY]};
    lane y[ROWS_MOST], start[STATES], bent[ROWS_MOST], r, q_r, q_t;
    for (int i = 0; i < ROWS_MOST; i++) y[i] = zero;
    const lane tension = lane_exp(w[0]), angle = w[1] / ANGLE, s = lane_sin(angle), c = lane_cos(angle);
    y[2] = y[8] = tension * s;
    y[4] = y[10] = tension * c;
    y[13] = tension * c / ANGLE;
    y[15] = -tension * s / ANGLE;
    memcpy(start, y, sizeof start);
    lane *end = y, gap_slope[2] = {zero, zero};
    int tangents = 2;
    if (ringed) {
        run(&a, steps, 2, k[CONTROL_DEPTH], y);
        polar(y, &r, &q_r, &q_t);
        out[GAP] = r - k[CONTROL_RADIUS];
        for (int j = 0; j < 2; j++) {
            const lane *d = y + STATES + 5 * j;
            gap_slope[j] = (y[0] * d[0] + y[1] * d[1]) / r;
        }
        out[DRIFT] = wander(start, y, k[GRAVITY], k[CONTROL_DEPTH]);
        bend_at_ring(y, contact * w[2] / BEND, k[CONTROL_FRICTION], r, q_r, q_t, &out[MERIDIAN], bent);
        memcpy(start, bent, sizeof start);
        const lane below = k[HEIGHT] - k[CONTROL_DEPTH];
        run(&a, steps, 3, below, bent);
        out[DRIFT] += wander(start, bent, k[GRAVITY], below);
        end = bent;
        tangents = 3;
    } else {
        run(&a, steps, 2, k[HEIGHT], y);
        out[GAP] = zero - INFINITY;
        out[MERIDIAN] = zero;
        out[DRIFT] = wander(start, y, k[GRAVITY], k[HEIGHT]);
    }
    polar(end, &r, &q_r, &q_t);
    lane dq[3][3] = {{zero}}, *slope = out + MEET_SLOPE;
    for (int i = 0; i < 6; i++) slope[i] = zero;
    for (int j = 0; j < tangents; j++) {
        const lane *d = end + STATES + 5 * j;
        polar_slope(end, d, r, q_r, q_t, &slope[j], &dq[0][j], &dq[1][j]);
        dq[2][j] = d[4];
    }
    out[MEET] = r - 1.0;
    out[MEET + 1] = w[2];
    slope[5] = 1.0 - contact;
    if (ringed) {
        /* Where the ring does not press, the bend acts on nothing. */
        slope[2] *= contact;
        for (int i = 0; i < 3; i++) dq[i][2] *= contact;
        for (int i = 0; i < LANES; i++)
            if (contact[i] > 0.0) out[MEET + 1][i] = out[GAP][i];
        slope[3] = contact * gap_slope[0];
        slope[4] = contact * gap_slope[1];
    }
    const lane q[3] = {q_r, q_t, end[4]};
    for (int i = 0; i < 3; i++) out[PULL + i] = q[i];
    balance(k, q, (const lane(*)[3])dq, out);
}

/* cases: [12][n] in the order of the enum above; w: [3][n]; contact: [n], 1 or 0; out: [26][n]. */
void rw_shoot(long n, int ringed, int steps, const double *cases, const double *w, const double *contact, double *out)
{
    for (long at = 0; at < n; at += LANES) {
        const int lanes = n - at < LANES ? (int)(n - at) : LANES;
        lane k[CASE_ROWS], x[3], pressed, rows[SHOT_ROWS];
        for (int i = 0; i < LANES; i++) {
            const long from = at + (i < lanes ? i : lanes - 1);
            for (int r = 0; r < CASE_ROWS; r++) k[r][i] = cases[r * n + from];
            for (int r = 0; r < 3; r++) x[r][i] = w[r * n + from];
            pressed[i] = contact[from];
        }
        shot(k, x, pressed, ringed, steps, rows);
        for (int r = 0; r < SHOT_ROWS; r++)
            for (int i = 0; i < lanes; i++) out[r * n + at + i] = rows[r][i];
    }
}

#include "motion.c" /* the yarn that moves in time */
