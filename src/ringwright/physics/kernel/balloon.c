/* Integrate one span of the balloon for many cases at once, in depth z, with tangents.
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
