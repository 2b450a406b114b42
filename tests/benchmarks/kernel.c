/* The risk kernel as a plain loop, one sample after the other: the same arithmetic as loadsim.risk for a
   brittle blank and one pass, in one piece or several. Built and called by kernel.py. */
#include <math.h>

struct job {
    double f_z, median, steady, rho, rho_sd, d, d_sd, r, r_sd, L, L_sd, head, head_sd, fe, fe_sd;
    double force, metal_sd, tool_sd, slope_sd, radial_sd, kc11, mc, bend, pivot, h_min, ratio, exponent, thinnest, thickest, radius, D;
    double stoned, each, growth_sd, stone, sharp, along, across;
    double D_head, r_head, sigma_0, credit, m, spread, once, thousand, thousand_spread, limit, limit_spread;
    double N_limit, least_drop, fatigue_sd, grind_sd, tau_u, torsion_sd, burst, burst_p;
    double unsteady_share, packed_turns;
    long teeth, pairs, elements, samples, pieces;
};

struct fit { long branches; double bounds[4], rows[2][4][3], corner; };

static double at(double s, const double *c) { return c[0] + s * (c[1] + s * c[2]); }

static double stress_concentration(const struct fit *fit, double D, double d, double r)
{
    double q = (D - d) / (2 * r), x = (D - d) / D, K = 1;
    for (long i = 0; i < fit->branches; i++) {
        double low = fit->bounds[i], high = fit->bounds[i + 1], c[3];
        if (i == 0 ? q <= 0 : q < low)
            continue;
        for (int k = 0; k < 3; k++)
            c[k] = fit->rows[i][0][k] + x * (fit->rows[i][1][k] + x * (fit->rows[i][2][k] + x * fit->rows[i][3][k]));
        double s = sqrt(fmin(fmax(q, low), high)), best = s;
        if (c[2] < 0)
            best = fmin(fmax(-c[1] / (2 * c[2]), sqrt(low)), s);
        K = fmax(K, fmax(at(sqrt(low), c), at(best, c)));
    }
    return K * pow(fmax(q / fit->bounds[fit->branches], 1), fit->corner);
}

/* K_t of a shouldered bar in bending */
static double bending(double D, double d, double r)
{
    double u = d / D * (d / D), low = 0.632 + 0.377 * pow(u, 2.2), p = r / d;
    double corner = (1 - u) * (0.503 + 0.14 * u) / (3.368 + u * (u - 2.39)), K = low + sqrt(corner / p);
    if (p > 0.3)
        K = fmax(K, 1 + (low + sqrt(corner / 0.3) - 1) * pow(p / 0.3, -0.9));
    return D > d ? K : 1;
}

static double ndtr(double x) { return 0.5 * erfc(-x * M_SQRT1_2); }

struct table {
    const double *sine, *beta_c, *beta_s, *level, *b, *sin_kappa, *step;
    const long *tooth, *position;
    long positions, idle;
};

static double COSINE[12], SINE[12];

static void range_around(const double *M_1, const double *M_2, const struct table *t, double *low, double *high)
{
    double best = 0;
    *low = *high = 0;
    for (int k = 0; k < 12; k++) {
        double cosine = COSINE[k], sine = SINE[k], lo = INFINITY, hi = -INFINITY;
        for (long a = 0; a < t->positions; a++) {
            double along = M_1[a] * cosine + M_2[a] * sine;
            lo = fmin(lo, along);
            hi = fmax(hi, along);
        }
        if (t->idle) {
            lo = fmin(lo, 0);
            hi = fmax(hi, 0);
        }
        double harm = fmax(hi, -lo) * (hi - lo);
        if (harm > best) {
            best = harm;
            *low = lo;
            *high = hi;
        }
    }
    *low /= cos(M_PI / 24);
    *high /= cos(M_PI / 24);
}

struct drawn { double factor, radial, rho, L, head, bend, twist, ln_k, exponent, edge_t, edge_r; };

struct peak { double sigma_1, torque, amplitude; };

/* the worst of a turn at one feed */
static struct peak peak_of(const struct job *c, const struct table *t, const struct drawn *x, double f_z)
{
    double M_1[64] = {0}, M_2[64] = {0}, H_1[64] = {0}, H_2[64] = {0}, T[64] = {0};
    int skips = 0;
    for (long j = 0; j < c->pairs; j++) {
        double advance = t->sine[j] * f_z, h = c->teeth * advance, F_t = 0, F_r = 0, edge_t = 0, edge_r = 0;
        for (long k = 1; k < c->teeth; k++)
            h = fmin(h, k * advance + t->step[t->tooth[j] * c->teeth + k - 1] * x->rho);
        h = t->sine[j] > 0 ? fmax(h, 0) : 0;
        for (long e = 0; e < c->elements; e++) {
            double kappa = t->sin_kappa[e], h_e = fmax(h * kappa, c->h_min);
            double b = t->b[j * c->elements + e] / kappa, ln_h = log(h_e);
            double F = b * exp(x->ln_k + ln_h * (x->exponent + c->bend * ln_h));
            F_t += F;
            F_r += F * kappa * c->ratio * pow(fmin(fmax(h_e, c->thinnest), c->thickest) / 0.1, -c->exponent);
            edge_t += b * x->edge_t;
            edge_r += b * kappa * x->edge_r;
        }
        F_t = (F_t + edge_t) * x->factor;
        F_r = (F_r * x->radial + edge_r) * x->factor;
        double arm = x->L + x->head - t->level[j];
        double F_1 = (-F_t * t->beta_s[j] - F_r * t->beta_c[j]) * arm;
        double F_2 = (-F_t * t->beta_c[j] + F_r * t->beta_s[j]) * arm;
        long a = t->position[j];
        H_1[a] += F_1;
        H_2[a] += F_2;
        if (h > 0) {
            M_1[a] += F_1;
            M_2[a] += F_2;
            T[a] += F_t * c->radius;
        } else
            skips = 1;
    }
    struct peak top = {0, 0, 0};
    for (long a = 0; a < t->positions; a++) {
        double half = sqrt(M_1[a] * M_1[a] + M_2[a] * M_2[a]) * x->bend / 2, tau = T[a] * x->twist;
        top.sigma_1 = fmax(top.sigma_1, half + sqrt(half * half + tau * tau));
        top.torque = fmax(top.torque, T[a]);
    }
    double low, high;
    range_around(skips ? H_1 : M_1, skips ? H_2 : M_2, t, &low, &high);
    double tau = top.torque * x->twist, s_a = (high - low) / 2 * x->bend, s_m = fabs(high + low) / 2 * x->bend;
    double A = sqrt(s_a * s_a + 3 * tau * tau / 4), peak = sqrt((s_a + s_m) * (s_a + s_m) + 3 * tau * tau);
    top.amplitude = sqrt((A + fmax(peak - A, 0)) * A);
    return top;
}

/* ln of the factor on all amplitudes at which Miner's sum is one, by Newton's method between two bounds */
static double damage_margin(long n, const double *turns, const double *sigma, double once, double thousand, double limit,
                            double N_limit)
{
    double early = log(1e3) / (once - thousand), late = log(N_limit / 1e3) / (thousand - limit);
    double ln_n[2 * 8 + 1], level[2 * 8 + 1], low = -INFINITY, high = -INFINITY;
    for (long i = 0; i < n; i++) {
        ln_n[i] = log(turns[i]);
        level[i] = log(sigma[i]);
        double after = ln_n[i] - log(1e3);
        low = fmax(low, level[i] - (thousand - after / (after <= 0 ? early : late)));
    }
    high = low + log(n); /* n levels, each at most as harmful as the worst: slopes are over one */
    double s = low;
    for (int k = 0; k < 60; k++) {
        double damage = 0, fall = 0;
        for (long i = 0; i < n; i++) {
            double over = level[i] - s - thousand, slope = over > 0 ? early : late;
            double part = exp(ln_n[i] - log(1e3) + over * slope);
            damage += part;
            fall += part * slope;
        }
        if (damage > 1)
            low = s;
        else
            high = s;
        double step = log(damage) * damage / fall;
        s = s + step >= low && s + step <= high ? s + step : (low + high) / 2;
        if (fabs(step) < 1e-9)
            break;
    }
    return s;
}

static double log_ndtr(double x) { return x < 0 ? log(ndtr(x)) : log1p(-ndtr(-x)); }

/* z, u: 18 rows of samples, the slope's cut off where forces would hardly grow with the chip; step: teeth x teeth; b: pairs x elements, one table a piece; turns: of each piece;
   out: p, fracture, fatigue rows */
void kernel(const struct job *c, const struct fit *torsion, const double *z, const double *u, const double *sine,
            const double *beta_c, const double *beta_s, const double *level, const double *b,
            const double *sin_kappa, const double *step, const double *turns, const long *tooth, const long *position,
            const long *positions, const long *idle, double *out)
{
    const long n = c->samples;
    for (int k = 0; k < 12; k++) {
        COSINE[k] = cos(M_PI * k / 12);
        SINE[k] = sin(M_PI * k / 12);
    }
    for (long i = 0; i < n; i++) {
#define Z(k) z[(k) * n + i]
        double d = c->d * exp(c->d_sd / c->d * Z(5)), scatter = exp(c->r_sd * Z(6)), r = c->r * scatter;
        double fe = c->fe + c->fe_sd * Z(9), W = M_PI / 32 * d * d * d;
        double K_ts = stress_concentration(torsion, c->D, d, r);
        double K_head = stress_concentration(torsion, c->D_head, d, c->r_head * scatter);
        double steep = c->slope_sd * Z(16), start = c->stoned * ndtr(Z(2));
        double land = fmax(start, fmin(start + c->each * exp(c->growth_sd * Z(2)), c->stone));
        double worn = fmax(land - c->sharp, 0);
        struct drawn x = {
            .factor = c->force * exp(c->metal_sd * Z(0) + c->tool_sd * Z(17)),
            .radial = exp(c->radial_sd * Z(1)),
            .rho = c->rho * exp(c->rho_sd * Z(4)),
            .L = c->L * exp(c->L_sd / c->L * Z(7)),
            .head = c->head * exp(c->head_sd / c->head * Z(8)),
            .bend = fmax(bending(c->D, d, r) * fe, 1) / W,
            .twist = K_ts / (2 * W),
            .ln_k = log(c->kc11) + steep * log(c->pivot),
            .exponent = 1 - c->mc - steep,
            .edge_t = c->along * worn,
            .edge_r = c->across * worn,
        };
        double f_z = fmax(c->f_z * c->median * exp(c->steady * Z(3)), c->f_z);
        double packing = 1 + c->burst * fmax(u[13 * n + i] - (1 - c->burst_p), 0) / c->burst_p;
        double N[2 * 8 + 1], sigma[2 * 8 + 1], sigma_1 = 0, torque = 0, steady = 0;
        for (long k = 0; k < c->pieces; k++) {
            long at = k * c->pairs;
            struct table t = {sine + at, beta_c + at, beta_s + at, level + at, b + at * c->elements, sin_kappa, step,
                              tooth + at, position + at, positions[k], idle[k]};
            struct peak usual = peak_of(c, &t, &x, c->f_z), worst = peak_of(c, &t, &x, f_z);
            N[2 * k] = turns[k] * (1 - c->unsteady_share);
            sigma[2 * k] = usual.amplitude;
            N[2 * k + 1] = turns[k] * c->unsteady_share;
            sigma[2 * k + 1] = worst.amplitude;
            steady = fmax(steady, usual.amplitude);
            sigma_1 = fmax(sigma_1, worst.sigma_1);
            torque = fmax(torque, worst.torque);
        }
        N[2 * c->pieces] = c->packed_turns;
        sigma[2 * c->pieces] = steady * packing;
        double once = log(c->once) + c->spread * Z(10);
        double thousand = fmin(log(c->thousand) + c->thousand_spread * Z(14), once - c->least_drop);
        double limit = log(c->limit) + c->limit_spread * Z(11) + c->grind_sd * Z(12);
        limit = fmin(limit, thousand - c->least_drop);
        double tired = damage_margin(2 * c->pieces + 1, N, sigma, once, thousand, limit, c->N_limit);
        double bears = c->sigma_0 * exp(c->credit * (u[15 * n + i] - 0.5) + c->spread * Z(10));
        double fracture = log(sigma_1 * packing / bears);
        double breaks = log(torque * packing / (M_PI / 16 * d * d * d * c->tau_u / fmax(K_ts, K_head)));
        double lives = -exp(c->m * fracture) + log_ndtr(-tired / c->fatigue_sd) + log_ndtr(-breaks / c->torsion_sd);
        out[i] = -expm1(lives);
        out[n + i] = fracture;
        out[2 * n + i] = tired;
    }
}
