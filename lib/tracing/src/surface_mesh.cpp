#include "surface_mesh.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "distance.h"

namespace anfract::tracing {
namespace {

/// No surface bends by what lies further out.
constexpr double furthest_out_mm = 2;

/// The field on a coarser grid whose border nodes are forced outside.
Brick resampled_with_border(const Brick& field, double cell_mm) {
    Brick coarse;
    GridGeometry& g = coarse.geometry;
    g.direction = field.geometry.direction;
    Vec3 first_I;
    for (int axis = 0; axis < 3; ++axis) {
        const double extent =
            (field.geometry.size[std::size_t(axis)] - 1) * field.geometry.spacing_mm[axis];
        const int cells = std::max(1, static_cast<int>(std::round(extent / cell_mm)));
        g.spacing_mm[axis] = extent / cells;
        g.size[std::size_t(axis)] = cells + 3;
        first_I[axis] = -g.spacing_mm[axis] / field.geometry.spacing_mm[axis];
    }
    g.origin_P = field.geometry.to_patient(first_I);
    coarse.grey.resize(g.voxel_count());
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i) {
                const bool border = i == 0 || j == 0 || k == 0 || i == g.size[0] - 1 ||
                                    j == g.size[1] - 1 || k == g.size[2] - 1;
                const float value =
                    interpolate(field, field.geometry.to_voxel(g.to_patient(Vec3(i, j, k))));
                coarse.at(i, j, k) =
                    border ? std::min(value, -static_cast<float>(g.spacing_mm.minCoeff()) / 2)
                           : value;
            }
        }
    }
    return coarse;
}

constexpr std::array<std::array<int, 3>, 8> corners{
    {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {1, 1, 0}, {0, 0, 1}, {1, 0, 1}, {0, 1, 1}, {1, 1, 1}}};
constexpr std::array<std::array<int, 2>, 12> edges{{{0, 1},
                                                    {2, 3},
                                                    {4, 5},
                                                    {6, 7},
                                                    {0, 2},
                                                    {1, 3},
                                                    {4, 6},
                                                    {5, 7},
                                                    {0, 4},
                                                    {1, 5},
                                                    {2, 6},
                                                    {3, 7}}};

/// The vertex of each cell that the surface crosses, else -1.
std::vector<int> place_vertices(const Brick& field, Surface& surface) {
    const auto& g = field.geometry;
    std::vector<int> vertex(g.voxel_count(), -1);
    for (int k = 0; k + 1 < g.size[2]; ++k) {
        for (int j = 0; j + 1 < g.size[1]; ++j) {
            for (int i = 0; i + 1 < g.size[0]; ++i) {
                std::array<float, 8> value{};
                for (std::size_t c = 0; c < 8; ++c) {
                    value[c] = field.at(i + corners[c][0], j + corners[c][1], k + corners[c][2]);
                }
                Vec3 sum{0, 0, 0};
                int crossings = 0;
                for (const auto& [a, b] : edges) {
                    const float va = value[std::size_t(a)];
                    const float vb = value[std::size_t(b)];
                    if ((va > 0) == (vb > 0)) continue;
                    const double share = va / (va - vb);
                    for (int axis = 0; axis < 3; ++axis) {
                        const auto x = std::size_t(axis);
                        sum[axis] +=
                            corners[std::size_t(a)][x] +
                            share * (corners[std::size_t(b)][x] - corners[std::size_t(a)][x]);
                    }
                    ++crossings;
                }
                if (crossings == 0) continue;
                vertex[g.index(i, j, k)] = static_cast<int>(surface.vertices_P.size());
                surface.vertices_P.push_back(g.to_patient(Vec3(i, j, k) + sum / crossings));
            }
        }
    }
    return vertex;
}

}  // namespace

Surface zero_surface(const Brick& field, double cell_mm) {
    const Brick coarse = resampled_with_border(field, cell_mm);
    const auto& g = coarse.geometry;
    Surface surface;
    const std::vector<int> vertex = place_vertices(coarse, surface);
    // Each grid edge along `axis` that is crossed joins the vertices of the four cells round it.
    for (int k = 0; k + 1 < g.size[2]; ++k) {
        for (int j = 0; j + 1 < g.size[1]; ++j) {
            for (int i = 0; i + 1 < g.size[0]; ++i) {
                const bool inside = coarse.at(i, j, k) > 0;
                for (int axis = 0; axis < 3; ++axis) {
                    // Edges within the border are all outside.
                    const int border = (i == 0) + (j == 0) + (k == 0);
                    const std::array<int, 3> here{i, j, k};
                    if (border > 1 || (border == 1 && here[std::size_t(axis)] != 0)) continue;
                    std::array<int, 3> next = here;
                    ++next[std::size_t(axis)];
                    if (inside == (coarse.at(next[0], next[1], next[2]) > 0)) continue;
                    std::array<int, 3> u{0, 0, 0};
                    std::array<int, 3> v{0, 0, 0};
                    u[std::size_t((axis + 1) % 3)] = 1;
                    v[std::size_t((axis + 2) % 3)] = 1;
                    const auto cell = [&](int a, int b) {
                        return vertex[g.index(i - a * u[0] - b * v[0], j - a * u[1] - b * v[1],
                                              k - a * u[2] - b * v[2])];
                    };
                    std::array<int, 4> quad{cell(1, 1), cell(0, 1), cell(0, 0), cell(1, 0)};
                    if (!inside) std::swap(quad[1], quad[3]);
                    surface.triangles.push_back({quad[0], quad[1], quad[2]});
                    surface.triangles.push_back({quad[0], quad[2], quad[3]});
                }
            }
        }
    }
    return surface;
}

Brick signed_distance(const Mask& mask, const GridGeometry& geometry, unsigned threads) {
    Mask outside(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n) outside[n] = mask[n] == 0;
    Brick result{geometry, distance_to(outside, geometry, threads)};
    const std::vector<float> to_inside = distance_to(mask, geometry, threads, furthest_out_mm);
    const auto half = static_cast<float>(geometry.spacing_mm.mean() / 2);
    for (std::size_t n = 0; n < mask.size(); ++n) {
        // Centres lie half a voxel from the face between inside and outside.
        result.grey[n] = mask[n] != 0 ? result.grey[n] - half : half - to_inside[n];
    }
    return result;
}

}  // namespace anfract::tracing
