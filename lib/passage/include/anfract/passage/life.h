#pragma once

#include <vector>

#include "anfract/passage/passage.h"

namespace anfract {

/// Turns an instrument made or is to make at one strain.
struct Use {
    double turns = 0;
    CycleRange cycles_to_failure;
};

/// Share of life used by all uses together, sum of n_i / N_i (Miner's rule, textbook); at 1 it is
/// used up. `low` is the least damage, from the longest lives.
CycleRange damage_sum(const std::vector<Use>& uses);

/// What a temperature other than room makes of a life of nickel-titanium: cooling from 20 to -20
/// degC raised cycles by 274 to 854 % over six instruments [Plotino2017], an exponential of 0.033
/// to 0.056 per degC; above 20 degC this is carried on beyond what was measured there.
/// @returns factors, `low` the smallest
CycleRange life_factor_of_temperature(double temperature_degC);

}  // namespace anfract
