/* Loads and limits of a map over feed and neck diameter as plain loops, one point after the other: the same
   arithmetic as loadsim.maps without the snap probability, for a brittle blank. Built and called by map_c.py.

   In here: what varies over the grid. Peak force, torque, stress and deflection; the utilizations of neck
   fracture, fatigue (the damage of every piece summed) and torsion, tooth root, spindle torque, table grab,
   collet slip, resonance (with the natural frequency of each neck), wall error, rubbing, chip packing, neck on
   the throat wall and neck in throat. Left out, being one number for the whole map: surface speed, shoulder
   above surface, head in undercut. Contact tables, the force law, the edge's stress against the
   chip and the strength of the material come from Python, as numbers. */
#include <math.h>
#include <string.h>

struct job {
    double rho, h_min, force, kc11, mc, bend, edge_t, edge_r, ratio, exponent, thinnest, thickest, radius, head, L, r, r_head, D, head_d, fe, level;
    double stickout, E, nu, density, k_collet, head_I, head_A;
    double mean_strength, gamma, m, V_test, V_part, target, once, thousand, limit, N_limit, tau_u;
    double tooth_arm, tooth_thickness, edge_bears, power, speed, friction, collet;
    double band, wall, packing, room, throat, clearance, aside;
    long teeth, passes, chips; /* passes: pieces of all passes */
};

/* pairs of turning position and tooth of one table, sorted by position */
struct table {
    long pairs, positions, elements, idle;
    const double *sine, *sin_phi, *cos_phi, *cos_beta, *sin_beta, *b, *level, *sin_kappa, *weight;
    const long *tooth, *position;
};

struct fit { long branches; double bounds[4], rows[2][4][3], corner; };

enum { MOST = 2048, OUT = 17, PASSES = 16 };

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

static double thickness(const struct job *c, const double *step, double f_z, double sine, long tooth)
{
    double advance = sine * f_z, h = c->teeth * advance;
    for (long k = 1; k < c->teeth; k++)
        h = fmin(h, k * advance + step[tooth * c->teeth + k - 1] * c->rho);
    return sine > 0 ? fmax(h, 0) : 0;
}

static double ratio(const struct job *c, double h)
{
    return c->ratio * pow(fmin(fmax(h, c->thinnest), c->thickest) / 0.1, -c->exponent);
}

/* chip and forces of one pair, the tooth counted as touching */
static void forces(const struct job *c, const struct table *t, const double *step, double f_z, long j, double *h,
                   double *F_t, double *F_r)
{
    *h = thickness(c, step, f_z, t->sine[j], t->tooth[j]);
    *F_t = *F_r = 0;
    for (long e = 0; e < t->elements; e++) {
        double h_e = fmax(*h * t->sin_kappa[e], c->h_min);
        double b = t->b[j * t->elements + e] / t->sin_kappa[e], ln_h = log(h_e);
        double F = b * c->kc11 * exp(ln_h * (1 - c->mc + c->bend * ln_h));
        *F_t += F + b * c->edge_t;
        *F_r += (F * ratio(c, h_e) + b * c->edge_r) * t->sin_kappa[e];
    }
    *F_t *= c->force;
    *F_r *= c->force;
}

static void range_around(const double *M_1, const double *M_2, long n, long idle, double *low, double *high)
{
    double best = 0;
    *low = *high = 0;
    for (int k = 0; k < 12; k++) {
        double cosine = cos(M_PI * k / 12), sine = sin(M_PI * k / 12), lo = INFINITY, hi = -INFINITY;
        for (long a = 0; a < n; a++) {
            double along = M_1[a] * cosine + M_2[a] * sine;
            lo = fmin(lo, along);
            hi = fmax(hi, along);
        }
        if (idle) {
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

/* what the forces ask of the neck: of the feed alone */
struct asked {
    double h, force, torque, mean_torque, tooth_force, wall, net_pull, edge;
    long positions[PASSES];
    double T[PASSES][MOST], M[2][PASSES][MOST], low[2][PASSES], high[2][PASSES];
};

static void ask(const struct job *c, const struct table *tables, const double *edges, const double *step,
                double f_z, struct asked *o)
{
    static double F[4][MOST], M[4][MOST];
    o->h = o->force = o->torque = o->mean_torque = o->tooth_force = o->wall = o->net_pull = 0;
    for (long p = 0; p < c->passes; p++) {
        const struct table *t = &tables[3 * p];
        double h, F_t, F_r, *T = o->T[p];
        long n = 0, skips = 0;
        memset(T, 0, t->positions * sizeof *T);
        memset(F[0], 0, t->positions * sizeof *T);
        memset(F[1], 0, t->positions * sizeof *T);
        static double arms[2][MOST], held[4][MOST], free_[4][MOST];
        for (int i = 0; i < 4; i++) {
            memset(held[i], 0, t->positions * sizeof *T);
            memset(free_[i], 0, t->positions * sizeof *T);
        }
        for (long j = 0; j < t->pairs; j++) {
            forces(c, t, step, f_z, j, &h, &F_t, &F_r);
            long a = t->position[j];
            double F_1 = -F_t * t->sin_beta[j] - F_r * t->cos_beta[j], F_2 = -F_t * t->cos_beta[j] + F_r * t->sin_beta[j];
            o->h = fmax(o->h, h);
            for (int end = 0; end < 2; end++) {
                double arm = arms[end][j] = (end ? 0 : c->L) + c->head - t->level[j];
                held[2 * end][a] += F_1 * arm;
                held[2 * end + 1][a] += F_2 * arm;
                if (h > 0) {
                    free_[2 * end][a] += F_1 * arm;
                    free_[2 * end + 1][a] += F_2 * arm;
                }
            }
            if (h > 0) {
                F[0][a] += F_1;
                F[1][a] += F_2;
                T[a] += F_t * c->radius;
                o->tooth_force = fmax(o->tooth_force, F_t);
            } else
                skips = 1;
        }
        n = o->positions[p] = t->positions;
        for (long a = 0; a < n; a++) {
            o->force = fmax(o->force, sqrt(F[0][a] * F[0][a] + F[1][a] * F[1][a]));
            o->torque = fmax(o->torque, T[a]);
        }
        for (int end = 0; end < 2; end++) {
            double(*x)[MOST] = skips ? held : free_;
            range_around(x[2 * end], x[2 * end + 1], n, t->idle, &o->low[end][p], &o->high[end][p]);
            for (long a = 0; a < n; a++) {
                double M_1 = free_[2 * end][a], M_2 = free_[2 * end + 1][a];
                o->M[end][p][a] = sqrt(M_1 * M_1 + M_2 * M_2);
            }
        }
        for (int k = 1; k < 3; k++) { /* whole turn, wall */
            const struct table *u = &tables[3 * p + k];
            double x = 0, twist = 0;
            memset(M[0], 0, u->positions * sizeof *T);
            for (long j = 0; j < u->pairs; j++) {
                forces(c, u, step, f_z, j, &h, &F_t, &F_r);
                if (h <= 0)
                    continue;
                twist += u->weight[j] * F_t * c->radius;
                x += u->weight[j] * (-F_t * u->cos_phi[j] - F_r * u->sin_phi[j]);
                M[0][u->position[j]] += F_t * u->sin_phi[j] - F_r * u->cos_phi[j];
            }
            if (k == 1) {
                o->net_pull = fmax(o->net_pull, x);
                o->mean_torque = fmax(o->mean_torque, twist);
            } else
                for (long a = 0; a < u->positions; a++)
                    o->wall = fmax(o->wall, fabs(M[0][a]));
        }
    }
    /* stress of the edge: straight between chips in the logarithm */
    double x = log(o->h);
    long i = 1;
    while (i < c->chips - 1 && edges[2 * i] < x)
        i++;
    const double *e = edges + 2 * i;
    o->edge = e[-1] + (e[1] - e[-1]) * (fmin(fmax(x, e[-2]), e[0]) - e[-2]) / (e[0] - e[-2]);
}

static double piece(const struct job *c, double p, double q, double I, double A)
{
    double G = c->E / (2 * (1 + c->nu)), kappa = 6 * (1 + c->nu) / (7 + 6 * c->nu);
    return (p * p * p - q * q * q) / (3 * c->E * I) + (p - q) / (kappa * G * A);
}

static double I_of(double d) { return M_PI / 64 * d * d * d * d; }
static double A_of(double d) { return M_PI / 4 * d * d; }

static double compliance(const struct job *c, double d)
{
    double in_head = c->head - c->level, reach = c->L + in_head, shank = fmax(c->stickout - c->L - c->head, 0);
    return 1 / c->k_collet + piece(c, reach + shank, reach, I_of(c->D), A_of(c->D)) + piece(c, reach, in_head, I_of(d), A_of(d)) +
           piece(c, in_head, 0, c->head_I, c->head_A);
}

/* lowest frequency of the stepped cantilever: Timoshenko elements, Cholesky of K, inverse iteration */
static double frequency(const struct job *c, double d)
{
    enum { N = 38, EACH = 6 };
    double K[N + 1][N + 1] = {{0}}, M[N + 1][N + 1] = {{0}}, x[N] = {0}, y[N], G = c->E / (2 * (1 + c->nu)), old = 0, now = 0;
    double kappa = 6 * (1 + c->nu) / (7 + 6 * c->nu), shank = c->stickout - c->L - c->head;
    double lengths[3] = {shank, c->L, c->head}, I[3] = {I_of(c->D), I_of(d), c->head_I};
    double A[3] = {A_of(c->D), A_of(d), c->head_A};
    int first = shank > 1e-6 ? 0 : 1, dof = 2, free_[N], n = 0;
    for (int s = first; s < 3; s++)
        for (int i = 0; i < EACH; i++, dof += 2) {
            double L = lengths[s] / EACH, phi = 12 * c->E * I[s] / (kappa * G * A[s] * L * L), f = c->E * I[s] / (L * L * L * (1 + phi));
            double u = (4 + phi) * L * L, v = (2 - phi) * L * L;
            double k[10] = {12, 6 * L, -12, 6 * L, u, -6 * L, v, 12, -6 * L, u};
            double a = 70 * phi * phi + 147 * phi + 78, b = (35 * phi * phi + 77 * phi + 44) * L / 4;
            double cc = 35 * phi * phi + 63 * phi + 27, e = (35 * phi * phi + 63 * phi + 26) * L / 4;
            double ff = (7 * phi * phi + 14 * phi + 8) * L * L / 4, g = (7 * phi * phi + 14 * phi + 6) * L * L / 4;
            double m[10] = {a, b, cc, -e, ff, e, -g, a, -b, ff}, h = (15 * phi - 3) * L;
            double p = (10 * phi * phi + 5 * phi + 4) * L * L, q = (5 * phi * phi - 5 * phi - 1) * L * L;
            double t[10] = {36, -h, -36, -h, p, h, q, 36, h, p};
            double by = c->density * A[s] * L / (210 * (1 + phi) * (1 + phi)), turn = c->density * I[s] / (30 * (1 + phi) * (1 + phi) * L);
            for (int row = 0, at_ = 0; row < 4; row++)
                for (int col = row; col < 4; col++, at_++)
                    for (int both = 0; both < (row == col ? 1 : 2); both++) {
                        int R = dof - 2 + (both ? col : row), C = dof - 2 + (both ? row : col);
                        K[R][C] += k[at_] * f;
                        M[R][C] += m[at_] * by + t[at_] * turn;
                    }
        }
    K[0][0] += c->k_collet;
    for (int i = 0; i < dof; i++)
        if (i != 1) /* the root cannot tilt */
            free_[n++] = i;
    for (int i = 0; i < n; i++) /* no product reaches farther than three places: banded */
        for (int j = i < 3 ? 0 : i - 3; j <= i; j++) {
            double s = K[free_[i]][free_[j]];
            for (int l = i < 3 ? 0 : i - 3; l < j; l++)
                s -= K[free_[l]][free_[i]] * K[free_[l]][free_[j]];
            K[free_[j]][free_[i]] = i == j ? sqrt(s) : s / K[free_[j]][free_[j]];
        }
    for (int i = 0; i < n; i++)
        x[i] = free_[i] % 2 == 0;
    for (int round = 0; round < 200; round++) {
        double top = 0, bottom = 0, z[N];
        for (int i = 0; i < n; i++) {
            z[i] = 0;
            for (int j = i < 3 ? 0 : i - 3; j < n && j <= i + 3; j++)
                z[i] += M[free_[i]][free_[j]] * x[j];
            y[i] = z[i];
        }
        for (int i = 0; i < n; i++) {
            for (int l = i < 3 ? 0 : i - 3; l < i; l++)
                y[i] -= K[free_[l]][free_[i]] * y[l];
            y[i] /= K[free_[i]][free_[i]];
        }
        for (int i = n - 1; i >= 0; i--) {
            for (int l = i + 1; l < n && l <= i + 3; l++)
                y[i] -= K[free_[i]][free_[l]] * y[l];
            y[i] /= K[free_[i]][free_[i]];
        }
        for (int i = 0; i < n; i++) {
            top += y[i] * z[i];
            for (int j = i < 3 ? 0 : i - 3; j < n && j <= i + 3; j++)
                bottom += y[i] * M[free_[i]][free_[j]] * y[j];
        }
        now = top / bottom;
        for (int i = 0; i < n; i++)
            x[i] = y[i] * now;
        if (fabs(now - old) < 1e-12 * now)
            break;
        old = now;
    }
    return sqrt(now) / (2 * M_PI);
}

/* ln of the factor on all amplitudes at which Miner's sum is one, by Newton's method between two bounds */
static double damage_margin(long n, const double *turns, const double *sigma, double once, double thousand, double limit,
                            double N_limit)
{
    double early = log(1e3) / (once - thousand), late = log(N_limit / 1e3) / (thousand - limit);
    double ln_n[PASSES], level[PASSES], low = -INFINITY, high = -INFINITY;
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

static void judge(const struct job *c, const struct fit *torsion, const struct asked *o,
                  const double *travels, double f_z, double d, double hertz, double *out)
{
    double W = M_PI / 32 * d * d * d, worst[2] = {0}, K_ts[2], give = compliance(c, d), tired = -INFINITY;
    double turns[PASSES], sigma_ar[PASSES];
    for (long p = 0; p < c->passes; p++)
        turns[p] = travels[p] / (f_z * c->teeth);
    for (int end = 0; end < 2; end++) {
        double D = fmax(end ? c->head_d : c->D, d), r = end ? c->r_head : c->r;
        K_ts[end] = stress_concentration(torsion, D, d, r);
        double bend = fmax(bending(D, d, r) * c->fe, 1) / W, twist = K_ts[end] / (2 * W);
        for (long p = 0; p < c->passes; p++) {
            double torque = 0;
            for (long a = 0; a < o->positions[p]; a++) {
                double half = o->M[end][p][a] * bend / 2, tau = o->T[p][a] * twist;
                worst[end] = fmax(worst[end], half + sqrt(half * half + tau * tau));
                torque = fmax(torque, o->T[p][a]);
            }
            double low = o->low[end][p] * bend, high = o->high[end][p] * bend, top = torque * twist;
            double s_a = (high - low) / 2, s_m = fabs(high + low) / 2, A = sqrt(s_a * s_a + 3 * top * top / 4);
            double peak = sqrt((s_a + s_m) * (s_a + s_m) + 3 * top * top);
            sigma_ar[p] = sqrt((A + fmax(peak - A, 0)) * A);
        }
        tired = fmax(tired, damage_margin(c->passes, turns, sigma_ar, c->once, c->thousand, c->limit, c->N_limit));
    }
    double sigma_1 = fmax(worst[0], worst[1]), bar = c->mean_strength / c->gamma;
    double gain = pow(c->V_test / (c->V_part * M_PI / 4 * d * d * c->L), 1 / c->m);
    /* half the credit for a small neck, the whole loss of a large one */
    double sigma_0 = bar * (gain > 1 ? sqrt(gain) : gain), bears = sigma_0 * pow(-log1p(-c->target), 1 / c->m);
    double root = o->tooth_force * c->tooth_arm / (c->head * c->tooth_thickness * c->tooth_thickness / 6);
    double passing = c->speed / (2 * M_PI) * c->teeth;
    out[0] = o->force;
    out[1] = o->torque;
    out[2] = sigma_1;
    out[3] = o->force * give;
    out[4] = sigma_1 / bears;
    out[5] = exp(tired);
    out[6] = o->torque / (M_PI / 16 * d * d * d * c->tau_u / fmax(K_ts[0], K_ts[1]));
    out[7] = fmax(root / bears, o->edge / c->edge_bears);
    out[8] = o->mean_torque / (c->power / c->speed);
    out[9] = o->net_pull / c->friction;
    out[10] = o->mean_torque / c->collet;
    out[11] = passing <= hertz ? passing / ((1 - c->band) * hertz) : (1 + c->band) * hertz / passing;
    out[12] = (o->wall * give + c->rho) / c->wall;
    out[13] = c->h_min / o->h;
    out[14] = f_z * c->packing / c->room;
    out[15] = (d + 2 * c->clearance) / c->throat;
    out[16] = o->force * give / ((c->throat - d) / 2 - c->aside);
}

/* shared: the forces once for each feed; else each point from the start, but for the natural frequency
   edges: ln chip and stress of the edge; travels: of each piece */
void map(const struct job *c, const struct table *tables, const double *edges, const double *travels,
         const double *step, const struct fit *torsion, const double *f_z, long feeds, const double *d,
         long necks, double *hertz, long shared, double *out)
{
    static struct asked o;
    for (long j = 0; j < necks; j++)
        hertz[j] = frequency(c, d[j]);
    for (long i = 0; i < feeds; i++)
        for (long j = 0; j < necks; j++) {
            if (!shared || j == 0)
                ask(c, tables, edges, step, f_z[i], &o);
            judge(c, torsion, &o, travels, f_z[i], d[j], hertz[j], out + OUT * (i * necks + j));
        }
}
