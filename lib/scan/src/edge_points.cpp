#include "edge_points.h"

#include <algorithm>
#include <cmath>

#include "anfract/base/parallel.h"
#include "quantile.h"
#include "smoothing.h"

namespace anfract {
namespace {

/// Of the gradient, wherever an edge point may lie and three voxels about.
Brick gradient_magnitude(const Brick& smooth, int margin_voxels, unsigned threads) {
    const GridGeometry& g = smooth.geometry;
    Brick magnitude{g, std::vector<float>(g.voxel_count(), 0.0F)};
    const int from = margin_voxels - 3;
    const auto slices = std::size_t(std::max(0, g.size[2] - 2 * from));
    parallel_for(slices, threads, [&](std::size_t begin, std::size_t end) {
        for (int k = from + int(begin); k < from + int(end); ++k) {
            for (int j = from; j < g.size[1] - from; ++j) {
                for (int i = from; i < g.size[0] - from; ++i)
                    magnitude.at(i, j, k) = float(gradient_at(g, smooth.grey, i, j, k).norm());
            }
        }
    });
    return magnitude;
}

}  // namespace

std::vector<EdgePoint> edge_points(const Brick& smooth, const EdgeSearch& search,
                                   unsigned threads) {
    const GridGeometry& g = smooth.geometry;
    const int margin = search.margin_voxels;
    const Brick magnitude = gradient_magnitude(smooth, margin, threads);
    const double mean_voxel_mm = std::cbrt(g.spacing_mm.prod());
    std::vector<EdgePoint> points;
    for (int k = margin; k < g.size[2] - margin; ++k) {
        for (int j = margin; j < g.size[1] - margin; ++j) {
            const int first = margin + (j + k) % search.every;
            for (int i = first; i < g.size[0] - margin; i += search.every) {
                const double here = magnitude.at(i, j, k);
                if (here < search.weakest || !(here > 0)) continue;
                const Vec3 normal = gradient_at(g, smooth.grey, i, j, k) / here;
                const Vec3 step_I = normal.cwiseQuotient(g.spacing_mm) * mean_voxel_mm;
                const Vec3 at(i, j, k);
                if (here < interpolate(magnitude, at + step_I) ||
                    here < interpolate(magnitude, at - step_I))
                    continue;
                points.push_back({at, normal, here});
            }
        }
    }
    return points;
}

std::vector<EdgePoint> thinned(const std::vector<EdgePoint>& points, std::size_t wanted) {
    const std::size_t step = std::max<std::size_t>(1, points.size() / wanted);
    std::vector<EdgePoint> chosen;
    for (std::size_t n = 0; n < points.size(); n += step) chosen.push_back(points[n]);
    return chosen;
}

double strength_quantile(const std::vector<EdgePoint>& points, double q) {
    std::vector<double> strengths;
    for (const EdgePoint& p : points) strengths.push_back(p.strength);
    return quantile(std::move(strengths), q);
}

}  // namespace anfract
