#pragma once

#include <string>
#include <vector>

#include "trial.h"

namespace anfract::truth {

/// One row for each canal, as Markdown on stdout.
void print_canals(const std::vector<Trial>& runs);

/// One row for each kind of phantom.
void print_summary(const std::vector<Trial>& runs, const std::vector<std::string>& kinds);

}  // namespace anfract::truth
