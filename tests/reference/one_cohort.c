/* One cohort of stalks and its field, written from docs/model.md alone for deSolve, as a check on the engine. Numbers of
   equations are those of that page. Pools g m-2, rates d-1, water mm. No crops, manure or standing residue.
   Run by desolve.R beside this file and by tests/benchmarks/fit_benchmark.R. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* names of docs/parameters.md, then those of the case; R reads the list from here */
enum parameter {
  carbon, nitrogen, phosphorus, potassium, sulfur, soluble, lignin, diameter_mm, k_sol, k_hol, k_lig, k_dec, k_rem, p_lig,
  tissue, tau_d, v_mm_d, rind, e_sol, e_hol, e_lig, e_rem, a_rem, a_som, k_wash_sol, k_leach, b_closed, N_structure,
  P_structure, S_structure, phi_P, CN_mic, CP_mic, CS_mic, k_som, k_upt, contact, soak_mm_d, N_bg, deposition_N, k_nit,
  k_hyd, k_vol, k_in, k_wash, c_urea, c_ammonium, k_den, q10_den, wet_den, frost_C, wet_optimum, wet_floor, field_k_sol, field_e_sol,
  length_mm, spacing_mm, opening, pH, buried, parameters
};
enum pool {
  S, Z, H, L, B, R, K, Pi, SOM, DOM_C, DOM_N, DOM_P, DOM_S, U_s, A_u, A_s, A, O, O_sub, CO2, leached_N, volatilised_N,
  denitrified_N, dom_out_C, dom_out_N, to_soil_P, to_soil_K, to_soil_S, crop_N, pools
};
enum driver {
  T_surface, T_buried, T_soil, wetness, pore_filling, w_surface, w_buried, w_0, w_top, w_sub, demand, wind, drivers
};
enum { N, P, E_S, elements };

static double p[parameters];
static double *days = NULL; /* rows of drivers, */
static int last_day = 0;     /* and the last of them */
static double q_sol[elements], q_str[elements], q_mic[elements], lam, a;
static double f, f_soil, f_Ts, nitrification, denitrification, urea_loss, ammonium_loss, w;
static const double *day;

/* fresh pools of one gram of dry matter, Eq. 1 */
static void fresh(double *x) {
  x[S] = p[soluble] * p[carbon];
  x[Z] = p[carbon] - x[S];
  x[K] = p[potassium];
  x[Pi] = p[phi_P] * p[phosphorus];
}

static void ratios(void) { /* Eq. 2 */
  const double organic[elements] = {p[nitrogen], p[phosphorus] * (1 - p[phi_P]), p[sulfur]};
  const double relative[elements] = {p[N_structure], p[P_structure], p[S_structure]};
  const double C_sol = p[soluble] * p[carbon], structure = p[carbon] - C_sol;
  lam = p[lignin] * p[carbon] / structure;
  for (int e = 0; e < elements; ++e) {
    q_str[e] = relative[e] * organic[e] / p[carbon];
    q_sol[e] = (organic[e] - q_str[e] * structure) / C_sol;
  }
  q_mic[N] = 1 / p[CN_mic];
  q_mic[P] = 1 / p[CP_mic];
  q_mic[E_S] = 1 / p[CS_mic];
}

static void access(void) { /* Eq. 3, 4; a spacing of 0 is none */
  const double n = p[spacing_mm] > 0 ? fmax(0, p[length_mm] / p[spacing_mm] - 1) : 0;
  const double sigma = (2 + 2 * p[opening] * n) / p[length_mm] + 4 * p[rind] / p[diameter_mm];
  a = p[v_mm_d] * sigma / (1 + p[tau_d] * p[v_mm_d] * sigma);
}

static double f_T(double T) { /* Eq. 18 */
  return exp(308.56 * (1 / 71.02 - 1 / (fmin(fmax(T, -40), 35) + 46.02)));
}
static double f_frost(double T) { return fmin(1, fmax(0, 1 - T / p[frost_C])); }    /* Eq. 19 */
static double f_W(double filling) {                                                  /* Eq. 20 */
  const double best = p[wet_optimum];
  return filling <= best ? filling / best : 1 - (1 - p[wet_floor]) * (filling - best) / (1 - best);
}
static double ammonia(double reaction) { return 1 / (1 + pow(10, 9.2464 - reaction)); } /* s of Eq. 42 */

static void begin_day(int number) {
  day = days + (size_t)(number < last_day ? number : last_day) * drivers;
  const double T = day[p[buried] ? T_buried : T_surface], soil_W = f_W(day[pore_filling]), T100 = day[T_soil];
  const double moisture = p[buried] ? soil_W : (1 - p[contact]) * day[wetness] + p[contact] * soil_W;
  f = f_T(T) * moisture * f_frost(T); /* Eq. 22 */
  w = p[buried] ? day[w_buried] + p[soak_mm_d] * day[pore_filling] * f_frost(T) : day[w_surface];
  f_soil = f_T(T100) * soil_W * f_frost(T100);
  f_Ts = f_T(day[T_surface]);
  const double root = (T100 + 4.5) / 29.5;
  nitrification = T100 < -4.5 ? 0
      : p[k_nit] * root * root * soil_W * f_frost(T100) * fmin(1, fmax(0.05, 0.3 + 0.35 * (p[pH] - 5))); /* Eq. 16 */
  const double above = fmax(0, (day[pore_filling] - p[wet_den]) / (1 - p[wet_den]));
  denitrification = p[k_den] * pow(p[q10_den], (T100 - 25) / 10) * above * above * f_frost(T100); /* Eq. 41 */
  urea_loss = p[k_vol] * f_Ts * day[wind] * p[c_urea];                                            /* Eq. 13, 42 */
  ammonium_loss = p[k_vol] * f_Ts * day[wind] * p[c_ammonium] * fmin(10, ammonia(p[pH]) / ammonia(7.5));
}

/* called from R */
void keep_days(double *table, int *numbers) {
  days = realloc(days, (size_t)*numbers * sizeof(double));
  memcpy(days, table, (size_t)*numbers * sizeof(double));
  last_day = *numbers / drivers - 1;
}
void fresh_pools(double *values, double *x) {
  for (int i = 0; i < parameters; ++i) p[i] = values[i];
  fresh(x);
}

/* called by deSolve: before a run, at the start of each day, and for slopes */
void initialise(void (*copy)(int *, double *)) {
  int n = parameters;
  copy(&n, p);
  ratios();
  access();
  begin_day(0);
}
void next_day(int *n, double *t, double *x) {
  (void)n, (void)x;
  begin_day((int)floor(*t + 0.5));
}

struct consumer { double climate, reach, need, own, freed, M, X, l; };

static double use(double x) { return x * x / (x + 1e-4); } /* Eq. 10 */
static void demand_of(struct consumer *c) {                  /* Eq. 9 */
  const double y = 1 - c->own / (c->need + 1e-15);
  c->M = c->need * (y + sqrt(y * y + 0.02 * 0.02)) / 2;
  c->X = c->M - c->need + c->own;
}
static void limit(struct consumer *c, double wanted) { /* Eq. 11 */
  const double U = p[k_upt] * c->climate * c->reach * c->climate * c->need / (wanted + 1e-15);
  const double supply = U + c->climate * c->freed;
  c->l = supply / (supply + c->climate * c->M + 1e-15);
}

void slopes(int *n, double *t, double *x, double *dx, double *out, int *ip) {
  (void)t, (void)out, (void)ip;
  for (int i = 0; i < *n; ++i) dx[i] = 0;
  /* Eq. 6 */
  const double LCI = (x[L] + 1e-3 * lam * x[Z]) / (x[H] + x[L] + 1e-3 * x[Z] + 1e-12);
  const double d_sol = p[k_sol] * x[S], d_rem = p[k_rem] * x[R], d_lig = p[k_lig] * p[tissue] * x[L];
  const double d_hol = p[k_hol] * p[tissue] * exp(-p[p_lig] * LCI) * x[H];
  const double g = p[e_sol] * d_sol + p[e_hol] * d_hol + p[e_lig] * d_lig + p[e_rem] * d_rem, dead = p[k_dec] * x[B];
  const double gone = 1 - p[a_rem] - p[a_som];
  double own[elements];
  for (int e = 0; e < elements; ++e) {
    own[e] = q_sol[e] * d_sol + q_str[e] * (d_hol + d_lig) + q_mic[e] * d_rem;
  }
  /* Eq. 9 to 12 */
  const double soil_N = use(x[A] + x[O]), top_N = p[buried] ? 0 : use(x[A_u] + x[A_s]);
  const double d_dom = p[field_k_sol] * x[DOM_C], g_dom = p[field_e_sol] * d_dom;
  struct consumer residue = {f, (p[buried] ? 1 : p[contact]) * soil_N + top_N, g * q_mic[N], own[N],
                             dead * q_mic[N] * gone, 0, 0, 0};
  struct consumer dom = {f_soil, soil_N, g_dom * q_mic[N], p[field_k_sol] * x[DOM_N], 0, 0, 0, 0};
  demand_of(&residue);
  demand_of(&dom);
  const double wanted = f * residue.need + f_soil * dom.need;
  limit(&residue, wanted);
  limit(&dom, wanted);
  const double l = residue.l;
  /* Eq. 7 */
  dx[S] = -f * l * d_sol;
  dx[Z] = -f * l * a * x[Z];
  dx[H] = f * l * ((1 - lam) * a * x[Z] - d_hol);
  dx[L] = f * l * (lam * a * x[Z] - d_lig);
  dx[B] = f * (l * g - dead);
  dx[R] = f * (p[a_rem] * dead - l * d_rem);
  dx[SOM] = f * p[a_som] * dead;
  dx[CO2] = f * (l * (d_sol + d_hol + d_lig + d_rem - g) + gone * dead);
  /* Eq. 8 */
  const double inside = 1 - p[b_closed] * x[Z] / (x[Z] + x[H] + x[L] + 1e-12);
  const double washed = p[k_wash_sol] * w * inside * x[S], leach = p[k_leach] * w * inside;
  dx[S] -= washed;
  dx[K] = -leach * x[K];
  dx[Pi] = -leach * x[Pi];
  dx[to_soil_K] = leach * x[K];
  /* Eq. 12, 36 */
  const double through = f_soil * dom.l * p[field_k_sol] + day[w_top];
  dx[DOM_C] = washed - through * x[DOM_C];
  dx[DOM_N] = washed * q_sol[N] - through * x[DOM_N];
  dx[DOM_P] = washed * q_sol[P] - through * x[DOM_P];
  dx[DOM_S] = washed * q_sol[E_S] - through * x[DOM_S];
  dx[dom_out_C] = day[w_top] * x[DOM_C];
  dx[dom_out_N] = day[w_top] * x[DOM_N];
  const double som_lost = p[k_som] * f_soil * x[SOM];
  dx[SOM] += f_soil * dom.l * g_dom - som_lost;
  dx[CO2] += f_soil * dom.l * (d_dom - g_dom) + som_lost;
  const double net[elements] = {0, f * (l * (own[P] - g * q_mic[P]) + dead * q_mic[P] * gone),
                                f * (l * (own[E_S] - g * q_mic[E_S]) + dead * q_mic[E_S] * gone)};
  dx[to_soil_P] = leach * x[Pi] + net[P] + som_lost * q_mic[P] +
                  f_soil * dom.l * (p[field_k_sol] * x[DOM_P] - g_dom * q_mic[P]);
  dx[to_soil_S] = net[E_S] + som_lost * q_mic[E_S] +
                  f_soil * dom.l * (p[field_k_sol] * x[DOM_S] - g_dom * q_mic[E_S]);
  /* Eq. 35 */
  const double taken = f * l * residue.M, from_top = taken * top_N / (residue.reach + 1e-15);
  const double from_soil = taken - from_top + f_soil * dom.l * dom.M;
  const double given = f * (l * residue.X + residue.freed) + f_soil * dom.l * dom.X;
  const double top = x[A_u] + x[A_s] + 1e-15, soil = x[A] + x[O] + 1e-15;
  /* Eq. 13 to 15, 41 */
  const double hydrolysed = p[k_hyd] * f_Ts * x[U_s], washed_in = p[k_wash] * day[w_0];
  const double nitrified = nitrification * x[A];
  dx[U_s] = -hydrolysed - washed_in * x[U_s];
  dx[A_u] = hydrolysed - (urea_loss + washed_in + p[k_in]) * x[A_u] - from_top * x[A_u] / top;
  dx[A_s] = -(ammonium_loss + washed_in + p[k_in]) * x[A_s] - from_top * x[A_s] / top;
  dx[A] = washed_in * x[U_s] + (washed_in + p[k_in]) * (x[A_u] + x[A_s]) + p[N_bg] * f_soil + p[deposition_N] +
          som_lost * q_mic[N] + given - nitrified - from_soil * x[A] / soil;
  dx[denitrified_N] = denitrification * x[O];
  dx[O] = nitrified - day[w_top] * x[O] - dx[denitrified_N] - from_soil * x[O] / soil;
  dx[O_sub] = day[w_top] * x[O] - day[w_sub] * x[O_sub];
  dx[leached_N] = day[w_sub] * x[O_sub];
  dx[volatilised_N] = urea_loss * x[A_u] + ammonium_loss * x[A_s];
  /* Eq. 17 */
  const double stock = x[A] + x[O] + x[O_sub], drawn = day[demand] / (stock + 0.5); /* of each, per g of it */
  dx[A] -= drawn * x[A];
  dx[O] -= drawn * x[O];
  dx[O_sub] -= drawn * x[O_sub];
  dx[crop_N] = drawn * stock;
}
