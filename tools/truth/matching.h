#pragma once

#include <limits>
#include <vector>

namespace anfract::truth {

/// Two that may not be matched.
inline constexpr double never = std::numeric_limits<double>::infinity();

/// Matches rows with columns, each used once at most: as many as can be, and of all such matchings
/// the one of least total cost. Gives the column of each row, -1 for none. Tries them all, so for
/// a handful only.
std::vector<int> best_matching(const std::vector<std::vector<double>>& cost);

}  // namespace anfract::truth
