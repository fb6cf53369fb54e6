#include "outer_surface.h"

#include <algorithm>
#include <cmath>

#include "anfract/base/parallel.h"
#include "coarse.h"
#include "distance.h"
#include "edge_columns.h"
#include "ridge.h"
#include "surface_mesh.h"

namespace anfract::tracing {
namespace {

constexpr double rounding_mm = 0.25, cell_mm = 0.5;
constexpr int inward = 5, outward = 10;  ///< places of a column on either side of the rough body
/// Two estimates of one edge, of which the inner counts, would lie too far in.
constexpr double slack_mm = 0.05;
constexpr double far_mm = 0.35, near_mm = 0.6;  ///< a leak, and what belongs to it
constexpr double steepest = 0.4;                ///< of the surface against the rough body

/// Down the gradient of a field.
Vec3 outward_at(const Brick& depth, const Vec3& point_P) {
    const GridGeometry& g = depth.geometry;
    const Vec3 v = g.to_voxel(point_P);
    Vec3 slope;
    for (int a = 0; a < 3; ++a) {
        const Vec3 step = Vec3::Unit(a);
        slope[a] =
            (interpolate(depth, v - step) - interpolate(depth, v + step)) / (2 * g.spacing_mm[a]);
    }
    const Vec3 out = g.direction * slope;
    return out.norm() > 1e-6 ? Vec3(out.normalized()) : Vec3(0, 0, 0);
}

std::vector<std::array<int, 2>> edges_of(const Surface& surface) {
    std::vector<std::array<int, 2>> edges;
    for (const auto& t : surface.triangles) {
        for (std::size_t c = 0; c < 3; ++c) {
            const int a = t[c], b = t[(c + 1) % 3];
            edges.push_back({std::min(a, b), std::max(a, b)});
        }
    }
    std::sort(edges.begin(), edges.end());
    edges.erase(std::unique(edges.begin(), edges.end()), edges.end());
    return edges;
}

/// Where in its column the surface lies, places: between them by the parabola of the costs.
double refined(const Columns& columns, std::size_t column, int place) {
    if (place == 0 || place == columns.places - 1) return place;
    const float* cost = columns.cost.data() + column * std::size_t(columns.places) + place;
    const double bend = cost[-1] - 2 * double(cost[0]) + cost[1];
    if (cost[-1] < cost[0] || cost[1] < cost[0] || bend <= 0) return place;
    return place + (cost[-1] - cost[1]) / (2 * bend);
}

/// Values given at points, as a smooth field about them; 0 far from all.
Brick spread(const GridGeometry& g, const std::vector<Vec3>& points_P,
             const std::vector<double>& values, unsigned threads) {
    Brick weight{g, std::vector<float>(g.voxel_count(), 0)}, sum = weight;
    for (std::size_t n = 0; n < points_P.size(); ++n) {
        const std::size_t at = nearest_voxel(g, points_P[n]);
        weight.grey[at] += 1;
        sum.grey[at] += float(values[n]);
    }
    constexpr double reach_mm = 0.4;
    weight = smooth(weight, reach_mm, threads);
    sum = smooth(sum, reach_mm, threads);
    for (std::size_t n = 0; n < sum.grey.size(); ++n)
        sum.grey[n] = weight.grey[n] > 1e-7F ? sum.grey[n] / weight.grey[n] : 0;
    return sum;
}

/// Columns along the normals of a mesh, with how badly the surface fits at each place.
Columns columns_through(const Surface& mesh, const Brick& rounded, const Brick& brick,
                        const GreyLevels& levels, unsigned threads) {
    Columns columns;
    columns.places = inward + outward + 1;
    columns.neighbours = edges_of(mesh);
    columns.most_step = std::max(1, int(std::lround(steepest * cell_mm / column_step_mm)));
    const std::size_t count = mesh.vertices_P.size();
    columns.cost.resize(count * std::size_t(columns.places));
    const EdgeModel model(levels);
    parallel_for(count, threads, [&](std::size_t begin, std::size_t end) {
        std::vector<float> line(std::size_t(columns.places + 2 * EdgeModel::reach));
        for (std::size_t n = begin; n < end; ++n) {
            const Vec3 out = outward_at(rounded, mesh.vertices_P[n]);
            for (std::size_t s = 0; s < line.size(); ++s) {
                const double t = column_step_mm * (int(s) - inward - EdgeModel::reach);
                line[s] = interpolate(brick, brick.geometry.to_voxel(mesh.vertices_P[n] + t * out));
            }
            for (int k = 0; k < columns.places; ++k) {
                columns.cost[n * std::size_t(columns.places) + std::size_t(k)] =
                    model.misfit(line.data() + k + EdgeModel::reach);
            }
        }
    });
    return columns;
}

}  // namespace

Brick outer_surface(const Brick& brick, const Mask& rough, const GreyLevels& levels,
                    double bridge_mm, unsigned threads) {
    const Coarse step = coarse_steps(brick.geometry);
    const GridGeometry coarse = coarser(brick.geometry, step);
    const Brick depth =
        solid_tooth(coarsened(rough, brick.geometry, coarse, step), coarse, bridge_mm, threads)
            .depth;
    const Brick rounded = smooth(depth, rounding_mm, threads);
    const Surface mesh = zero_surface(rounded, cell_mm);

    const Columns columns = columns_through(mesh, rounded, brick, levels, threads);
    const std::vector<int> place = cheapest_surface(columns);
    std::vector<double> moved(place.size());
    for (std::size_t n = 0; n < place.size(); ++n)
        moved[n] = column_step_mm * (refined(columns, n, place[n]) - inward);
    const Brick offset = spread(coarse, mesh.vertices_P, moved, threads);
    Brick result = rounded;
    for (std::size_t n = 0; n < result.grey.size(); ++n) result.grey[n] += offset.grey[n];
    return result;
}

Mask without_leaks(const Mask& mask, const GridGeometry& g, const Brick& outer, unsigned threads) {
    std::vector<float> inside_mm(mask.size(), 0);
    Mask far(mask.size(), 0);
    parallel_for(std::size_t(g.size[2]), threads, [&](std::size_t begin, std::size_t end) {
        for (auto k = int(begin); k < int(end); ++k) {
            for (int j = 0; j < g.size[1]; ++j) {
                for (int i = 0; i < g.size[0]; ++i) {
                    const std::size_t n = g.index(i, j, k);
                    if (mask[n] == 0) continue;
                    const Vec3 at = outer.geometry.to_voxel(g.to_patient(Vec3(i, j, k)));
                    inside_mm[n] = interpolate(outer, at);
                    far[n] = inside_mm[n] < -far_mm;
                }
            }
        }
    });
    if (std::find(far.begin(), far.end(), 1) == far.end()) return mask;
    const Mask near = dilated(far, g, near_mm, threads);
    Mask result = mask;
    for (std::size_t n = 0; n < mask.size(); ++n) {
        if (near[n] != 0 && inside_mm[n] < -slack_mm) result[n] = 0;
    }
    return result;
}

}  // namespace anfract::tracing
