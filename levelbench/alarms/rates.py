"""What noise makes of an alarm: false and missed alarms, how often it comes, how late; closed forms with their sources.

p is a sample's chance to lie at or beyond the limit, in normal running for what is false, with a true excursion for
what is missed; delays are whole samples in a row, 1 is no delay.

Sources:
[1] J. Xu, J. Wang, I. Izadi & T. Chen, "Performance assessment and design for univariate alarm systems based on FAR,
    MAR, and AAD", IEEE Trans. Autom. Sci. Eng. 9 (2012) 296-307: on-delay and off-delay.
[2] N. A. Adnan, I. Izadi & T. Chen, "On expected detection delays for alarm systems with deadbands and delay-timers",
    J. Process Control 21 (2011) 1318-1331: dead bands, and how long an alarm is expected to take.
[3] W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, 3rd ed. (1968), XIII.7: the mean
    number of trials up to a run of n successes. With it [1] and [2] follow from the renewal theorem.
[4] S. O. Rice, "Mathematical analysis of random noise", Bell Syst. Tech. J. 23 (1944) 282-332 and 24 (1945) 46-156.
[5] D. B. Owen, "Tables for computing bivariate normal probabilities", Ann. Math. Stat. 27 (1956) 1075-1090.
"""

import math

from scipy.special import ndtr, owens_t

XU = "Xu, Wang, Izadi & Chen, IEEE Trans. Autom. Sci. Eng. 9 (2012) 296-307"
ADNAN = "Adnan, Izadi & Chen, J. Process Control 21 (2011) 1318-1331"
RICE = "S. O. Rice, Bell Syst. Tech. J. 23-24 (1944-45)"
OWEN = "D. B. Owen, Ann. Math. Stat. 27 (1956) 1075-1090"


def above(limit: float) -> float:
    """Give the chance of a standard normal number to lie at or above a limit [1, in standard deviations]."""
    return float(ndtr(-limit))


def run_length(p: float, samples: int) -> float:
    """Give the mean number of independent samples until so many in a row are beyond: (1 − pⁿ)/((1 − p) pⁿ) [3]."""
    if p <= 0.0:
        return math.inf
    if p >= 1.0:
        return float(samples)
    log = samples * math.log(p)
    if log < -700.0:
        return math.inf
    return -math.expm1(log) / ((1.0 - p) * math.exp(log))


def share_in_alarm(beyond: float, safe: float, on: int = 1, off: int = 1) -> float:
    """Give the share of time in alarm of independent samples, with dead band, on-delay and off-delay [1], [2].

    beyond: chance of a sample at or beyond the limit; safe: chance on the safe side of the dead band.
    With the chances of normal running this is the false-alarm rate; 1 less this with those of an excursion is the
    missed-alarm rate.
    """
    out, within = run_length(beyond, on), run_length(safe, off)
    if math.isinf(out):
        return 0.0
    return 1.0 if math.isinf(within) else within / (out + within)


def alarms_per_sample(beyond: float, safe: float, on: int = 1, off: int = 1) -> float:
    """Give how often an alarm comes, by sample: the inverse of the mean time out of it and in it [3]."""
    return 1.0 / (run_length(beyond, on) + run_length(safe, off))


def detection_delay(p: float, on: int = 1, normal: float = 0.0) -> float:
    """Give the expected samples from the first abnormal one to the alarm [1], [2].

    p: of an abnormal sample; normal: of a normal one, which may have left a count: k in a row with weight normalᵏ. From
    a count of k the alarm is expected after L(n) − L(k) samples, L being the mean length of [3].
    """
    if math.isinf(run_length(p, on)):
        return math.inf
    weights = [normal**count for count in range(on)]
    left = [run_length(p, on) - (run_length(p, count) if count else 0.0) for count in range(on)]
    return sum(one * other for one, other in zip(weights, left, strict=True)) / sum(weights) - 1.0


def rice(limit: float, pace: float) -> float:
    """Give the up-crossings [1/s] of a limit [1, in standard deviations] by noise that has a pace [4].

    pace [1/s]: the root mean square rate of change in standard deviations, √(m₂/m₀) of the spectrum's moments. Noise
    through a single lag, or a moving average alone, has none that is finite; sample it and use `crossings_per_sample`.
    """
    return math.exp(-0.5 * limit**2) * pace / (2.0 * math.pi)


def crossings_per_sample(limit: float, correlation: float) -> float:
    """Give the up-crossings of a limit [1, in standard deviations] by sample, for any normal noise.

    correlation: of one sample with the next. P(x < u ≤ y) = Φ(u) − Φ₂(u, u; ρ) = 2 T(u, √((1 − ρ)/(1 + ρ))), T being
    Owen's function [5].
    """
    if correlation >= 1.0:
        return 0.0
    return 2.0 * float(owens_t(limit, math.sqrt((1.0 - correlation) / (1.0 + correlation))))
