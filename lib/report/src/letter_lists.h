#pragma once

#include <string>
#include <vector>

#include "anfract/plan/plan.h"

namespace anfract {

/// Where canals meet, and what else was found.
std::vector<std::string> finding_lines(const Tooth& tooth);

/// A warning as a letter gives it: what several canals have in common is said once.
struct Caution {
    std::string places, text, reason;
    int severity = 0;
    std::size_t canals = 0;
};

/// In the plan's order, worst first.
std::vector<Caution> cautions_of(const Plan& plan);

}  // namespace anfract
