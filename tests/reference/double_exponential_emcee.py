#!/usr/bin/python3
"""Golden numbers of tests/sampler_test.cpp: the posterior of a double exponential as another sampler has it.
Run: /usr/bin/python3 tests/reference/double_exponential_emcee.py; Debian: python3-emcee python3-numpy. Output of
emcee 3.1.4 with NumPy 1.24.2: double_exponential_emcee.txt beside this file.

Maize litter buried at 10 cm, ash-free mass left [%] at days, doi:10.1080/03650340.2019.1579903, as read from the
figure by Sarquis et al. 2022, doi:10.5194/essd-14-3471-2022. Errors: normal, sd 3 % of the start (assumed). Left after
t days: 100 (a exp(-k1 t) + (1 - a) exp(-k2 t)). Unknowns logit a, ln k1, ln k2, flat between bounds.
"""
import emcee
import numpy as np

day = np.array([0, 30, 60, 90, 120, 150, 180, 360, 540.0])
left = np.array([100, 68.664, 50.699, 47.241, 43.427, 39.017, 37.224, 35.027, 32.710])
sd = 3.0
lower = np.array([-4.0, np.log(0.005), np.log(1e-5)])
upper = np.array([4.0, np.log(0.5), np.log(0.005)])


def log_density(z):
    a, k1, k2 = 1 / (1 + np.exp(-z[:, :1])), np.exp(z[:, 1:2]), np.exp(z[:, 2:3])
    curve = 100 * (a * np.exp(-k1 * day) + (1 - a) * np.exp(-k2 * day))
    inside = np.all((z >= lower) & (z <= upper), axis=1)
    return np.where(inside, -0.5 * np.sum(((left - curve) / sd) ** 2, axis=1), -np.inf)


rng = np.random.default_rng(20)
walkers, steps, burn_in = 64, 60000, 5000
start = np.array([0.4, np.log(0.025), np.log(4e-4)]) + 0.05 * rng.standard_normal((walkers, 3))
np.random.seed(21)
sampler = emcee.EnsembleSampler(walkers, 3, log_density, vectorize=True)  # stretch moves, the default
sampler.run_mcmc(start, steps)
draws = sampler.get_chain(discard=burn_in, flat=True)
tau = sampler.get_autocorr_time(discard=burn_in)
print(f"emcee {emcee.__version__}, NumPy {np.__version__}: autocorrelation times {np.round(tau, 1)} steps, "
      f"effective draws {np.round(len(draws) / tau)}")
print("// mean, sd, quantiles 0.05, 0.5, 0.95, effective draws")
for j, name in enumerate(["logit a", "ln k1", "ln k2"]):
    x = draws[:, j]
    print("{%s},  // %s" % (", ".join(f"{v:.5f}" for v in [x.mean(), x.std(), *np.quantile(x, [0.05, 0.5, 0.95])])
                            + f", {len(x) / tau[j]:.0f}", name))
