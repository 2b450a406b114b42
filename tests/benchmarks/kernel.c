/* The risk kernel as a plain loop, one sample after the other: the same arithmetic as loadsim.risk for a
   brittle blank and one pass. Built and called by kernel.py. */
#include <math.h>

struct job {
    double f_z, median, steady, rho, rho_sd, d, d_sd, r, r_sd, L, L_sd, head, head_sd, fe, fe_sd;
    double force, sigma_ln, wear_sd, radial_sd, kc11, mc, h_min, K_tc, K_te, K_rc, K_re, radius, D;
    double sigma_0, m, spread, bears, fatigue_spread, grind_sd, tau_u, torsion_sd, burst, burst_p;
    double fe_r_over_d, fe_exponent;
    long teeth, pairs, positions, elements, idle, samples;
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

static double ndtr(double x) { return 0.5 * erfc(-x * M_SQRT1_2); }

static void range_around(const double *M_1, const double *M_2, const struct job *c, double *low, double *high)
{
    double best = 0;
    *low = *high = 0;
    for (int k = 0; k < 12; k++) {
        double cosine = cos(M_PI * k / 12), sine = sin(M_PI * k / 12), lo = INFINITY, hi = -INFINITY;
        for (long a = 0; a < c->positions; a++) {
            double along = M_1[a] * cosine + M_2[a] * sine;
            lo = fmin(lo, along);
            hi = fmax(hi, along);
        }
        if (c->idle) {
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

/* z: 14 rows of samples; step: teeth x teeth; b: pairs x elements; out: p, fracture, fatigue rows */
void kernel(const struct job *c, const struct fit *bending, const struct fit *torsion, const double *z, const double *u,
            const double *sine, const double *beta_c, const double *beta_s, const double *level, const double *b,
            const double *sin_kappa, const double *step, const long *tooth, const long *position, double *out)
{
    const long n = c->samples;
    for (long i = 0; i < n; i++) {
#define Z(k) z[(k) * n + i]
        double factor = c->force * exp(c->sigma_ln * Z(0) + c->wear_sd * Z(2));
        factor *= 1 + c->burst * fmax(u[i] - (1 - c->burst_p), 0) / c->burst_p;
        double radial = exp(c->radial_sd * Z(1)), f_z = c->f_z * c->median * exp(c->steady * Z(3));
        double rho = c->rho * exp(c->rho_sd * Z(4)), d = c->d * exp(c->d_sd / c->d * Z(5));
        double r = c->r * exp(c->r_sd * Z(6)), L = c->L * exp(c->L_sd / c->L * Z(7));
        double head = c->head * exp(c->head_sd / c->head * Z(8)), fe = c->fe + c->fe_sd * Z(9);
        double W = M_PI / 32 * d * d * d, K_ts = stress_concentration(torsion, c->D, d, r);
        double scale = pow(fmax(c->fe_r_over_d * d / r, 1), c->fe_exponent);
        double bend = fmax(stress_concentration(bending, c->D, d, r) * fe * scale, 1) / W, twist = K_ts / (2 * W);
        double M_1[64] = {0}, M_2[64] = {0}, H_1[64] = {0}, H_2[64] = {0}, T[64] = {0};
        int skips = 0;
        for (long j = 0; j < c->pairs; j++) {
            double advance = sine[j] * f_z, h = c->teeth * advance, F_t = 0, F_r = 0;
            for (long k = 1; k < c->teeth; k++)
                h = fmin(h, k * advance + step[tooth[j] * c->teeth + k - 1] * rho);
            h = sine[j] > 0 ? fmax(h, 0) : 0;
            for (long e = 0; e < c->elements; e++) {
                double h_e = fmax(h * sin_kappa[e], c->h_min);
                double F = b[j * c->elements + e] / sin_kappa[e] * c->kc11 * pow(h_e, 1 - c->mc);
                F_t += F;
                F_r += F * sin_kappa[e] * (c->K_rc * h_e + c->K_re) / (c->K_tc * h_e + c->K_te);
            }
            F_t *= factor;
            F_r *= factor * radial;
            double arm = L + head - level[j];
            double F_1 = (-F_t * beta_s[j] - F_r * beta_c[j]) * arm, F_2 = (-F_t * beta_c[j] + F_r * beta_s[j]) * arm;
            long a = position[j];
            H_1[a] += F_1;
            H_2[a] += F_2;
            if (h > 0) {
                M_1[a] += F_1;
                M_2[a] += F_2;
                T[a] += F_t * c->radius;
            } else
                skips = 1;
        }
        double sigma_1 = 0, torque = 0, low, high;
        for (long a = 0; a < c->positions; a++) {
            double half = sqrt(M_1[a] * M_1[a] + M_2[a] * M_2[a]) * bend / 2, tau = T[a] * twist;
            sigma_1 = fmax(sigma_1, half + sqrt(half * half + tau * tau));
            torque = fmax(torque, T[a]);
        }
        range_around(skips ? H_1 : M_1, skips ? H_2 : M_2, c, &low, &high);
        double top = torque * twist, s_a = (high - low) / 2 * bend, s_m = fabs(high + low) / 2 * bend;
        double A = sqrt(s_a * s_a + 3 * top * top / 4), peak = sqrt((s_a + s_m) * (s_a + s_m) + 3 * top * top);
        double sigma_ar = sqrt((A + fmax(peak - A, 0)) * A);
        double fracture = log(sigma_1 / (c->sigma_0 * exp(c->spread * Z(10))));
        double fatigue = log(sigma_ar / (c->bears * exp(c->fatigue_spread * Z(11)))) - c->grind_sd * Z(12);
        double breaks = log(torque / (M_PI / 16 * d * d * d * c->tau_u / K_ts));
        double x = exp(c->m * fracture), small = x + ndtr(fatigue / 0.10) + ndtr(breaks / c->torsion_sd);
        double lives = exp(-x) * ndtr(-fatigue / 0.10) * ndtr(-breaks / c->torsion_sd);
        out[i] = small < 1e-4 ? small : 1 - lives;
        out[n + i] = fracture;
        out[2 * n + i] = fatigue;
    }
}
