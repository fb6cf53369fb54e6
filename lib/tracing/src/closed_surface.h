#pragma once

#include <array>
#include <vector>

namespace anfract::tracing {

/// Columns that a surface crosses once each, with what crossing costs at each of their places.
struct Columns {
    int places = 0;           ///< of every column, at least 2, from within outward
    std::vector<float> cost;  ///< [column * places + place], finite
    std::vector<std::array<int, 2>> neighbours;  ///< pairs of columns, each once
    int most_step = 1;                           ///< by which the places of neighbours may differ
};

/// The place in each column at which the sum of costs is least of all surfaces whose neighbours
/// differ by `most_step` places at most: a minimum cut, so it is the least there is but for costs
/// being rounded to 1e-6 of the greatest [LiWuChenSonka2006, BoykovKolmogorov2004].
std::vector<int> cheapest_surface(const Columns& columns);

}  // namespace anfract::tracing
