#include "anfract/scan/sharpness.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include "anfract/base/parallel.h"
#include "edge_fit.h"
#include "edge_points.h"
#include "quantile.h"
#include "smoothing.h"

namespace anfract {
namespace {

constexpr double smoothing_voxels = 1.5;
constexpr std::size_t most_edges = 3000;
constexpr std::size_t fewest_edges = 40;
constexpr std::size_t first_edges = 600;  ///< are enough for a first look

/// An edge point whose profile an error function describes.
struct MeasuredEdge {
    EdgeFit fit;
    std::vector<EdgeSample> samples;
};

std::vector<EdgePoint> find_edge_points(const Brick& brick, unsigned threads) {
    const Brick smooth{brick.geometry, gaussian_smoothed(brick, smoothing_voxels, threads)};
    const TwoClasses classes = otsu(smooth.grey);
    const double contrast = classes.high_mean - classes.low_mean;
    EdgeSearch search;
    // The slope an edge of a third of the contrast has when blurred over five voxels.
    search.weakest = contrast / 3 / (5 * std::cbrt(brick.geometry.spacing_mm.prod()));
    return edge_points(smooth, search, threads);
}

/// Of the stronger half.
std::vector<EdgePoint> choose(std::vector<EdgePoint> points) {
    if (points.empty()) return points;
    const double median = strength_quantile(points, 0.5);
    std::erase_if(points, [&](const EdgePoint& p) { return p.strength < median; });
    return thinned(points, most_edges);
}

/// Grey values of the voxels in a cylinder along the normal, against the distance along it.
std::vector<EdgeSample> profile_at(const Brick& brick, const EdgePoint& point, double reach_mm,
                                   double radius_mm) {
    const GridGeometry& g = brick.geometry;
    std::vector<EdgeSample> samples;
    const double box_mm = std::hypot(reach_mm, radius_mm);
    std::array<int, 3> first{};
    std::array<int, 3> last{};
    for (std::size_t a = 0; a < 3; ++a) {
        const double half =
            std::min(box_mm, reach_mm * std::abs(point.normal[int(a)]) + radius_mm) /
            g.spacing_mm[int(a)];
        first[a] = std::max(0, int(std::ceil(point.voxel_I[int(a)] - half)));
        last[a] = std::min(g.size[a] - 1, int(std::floor(point.voxel_I[int(a)] + half)));
    }
    for (int k = first[2]; k <= last[2]; ++k) {
        for (int j = first[1]; j <= last[1]; ++j) {
            for (int i = first[0]; i <= last[0]; ++i) {
                const Vec3 d = (Vec3(i, j, k) - point.voxel_I).cwiseProduct(g.spacing_mm);
                const double t = d.dot(point.normal);
                if (std::abs(t) > reach_mm ||
                    (d - t * point.normal).squaredNorm() > radius_mm * radius_mm) {
                    continue;
                }
                samples.push_back({t, brick.at(i, j, k)});
            }
        }
    }
    return samples;
}

std::vector<MeasuredEdge> measure(const Brick& brick, const std::vector<EdgePoint>& points,
                                  double reach_mm, double start_sigma_mm, unsigned threads) {
    const double radius_mm = 1.5 * std::cbrt(brick.geometry.spacing_mm.prod());
    std::vector<std::optional<MeasuredEdge>> measured(points.size());
    parallel_for(points.size(), threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t n = begin; n < end; ++n) {
            std::vector<EdgeSample> samples = profile_at(brick, points[n], reach_mm, radius_mm);
            if (const auto fit = fit_edge(samples, start_sigma_mm)) {
                measured[n] = MeasuredEdge{*fit, std::move(samples)};
            }
        }
    });
    std::vector<MeasuredEdge> edges;
    for (auto& edge : measured) {
        if (edge && std::abs(edge->fit.t0_mm) < 0.5 * reach_mm) edges.push_back(std::move(*edge));
    }
    return edges;
}

/// Leaves out metal (far more contrast than the usual edge) and profiles that are no single edge.
void keep_plain_edges(std::vector<MeasuredEdge>& edges) {
    std::vector<double> steps;
    std::vector<double> misfits;
    for (const MeasuredEdge& e : edges) {
        steps.push_back(e.fit.step_grey);
        misfits.push_back(e.fit.residual_rms_grey / e.fit.step_grey);
    }
    const double usual_step = quantile(steps, 0.5);
    const double usual_misfit = quantile(misfits, 0.5);
    std::erase_if(edges, [&](const MeasuredEdge& e) {
        return e.fit.step_grey > 1.8 * usual_step || e.fit.step_grey < 0.5 * usual_step ||
               e.fit.residual_rms_grey / e.fit.step_grey > usual_misfit;
    });
}

/// False for the chance edges of mere noise, whose step is about three times what the fit leaves
/// over.
bool stands_out(const std::vector<MeasuredEdge>& edges) {
    std::vector<double> ratios;
    for (const MeasuredEdge& e : edges) ratios.push_back(e.fit.step_grey / e.fit.residual_rms_grey);
    return quantile(ratios, 0.5) > 5;
}

/// Sigma of the median edge-spread function of edges begin, begin + step, ...
std::optional<double> pooled_sigma_mm(const std::vector<MeasuredEdge>& edges, std::size_t begin,
                                      std::size_t step, double reach_mm, double bin_mm) {
    const int half_bins = int(reach_mm / bin_mm);
    std::vector<std::vector<double>> bins(std::size_t(2 * half_bins + 1));
    std::vector<std::vector<double>> places(bins.size());
    for (std::size_t n = begin; n < edges.size(); n += step) {
        const EdgeFit& fit = edges[n].fit;
        for (const EdgeSample& s : edges[n].samples) {
            const double t = s.t_mm - fit.t0_mm;
            const int bin = int(std::lround(t / bin_mm)) + half_bins;
            if (bin < 0 || bin > 2 * half_bins) continue;
            bins[std::size_t(bin)].push_back((s.grey - fit.low_grey) / fit.step_grey);
            places[std::size_t(bin)].push_back(t);
        }
    }
    std::vector<EdgeSample> spread;
    for (std::size_t b = 0; b < bins.size(); ++b) {
        if (bins[b].size() < 5) continue;
        spread.push_back({quantile(places[b], 0.5), quantile(bins[b], 0.5)});
    }
    const auto fit = fit_edge(spread, 0.25 * reach_mm);
    if (!fit) return std::nullopt;
    return fit->sigma_mm;
}

}  // namespace

Result<Sharpness> estimate_sharpness(const Brick& brick, unsigned threads) {
    const auto too_few = [] {
        return fail(ErrorCode::NotConverged, "too few clear edges to measure the sharpness", "scan",
                    "choose a region that holds the surface of a tooth");
    };
    const double voxel_mm = std::cbrt(brick.geometry.spacing_mm.prod());
    const std::vector<EdgePoint> points = choose(find_edge_points(brick, threads));
    if (points.size() < fewest_edges) return too_few();
    // A first look over five voxels each way gives the width; the second reaches three sigma, so
    // that a neighbouring edge disturbs as little as may be.
    double reach_mm = 5 * voxel_mm;
    double sigma_mm = 1.5 * voxel_mm;
    std::vector<MeasuredEdge> edges;
    for (int look = 0; look < 2; ++look) {
        edges = measure(brick, look == 0 ? thinned(points, first_edges) : points, reach_mm,
                        sigma_mm, threads);
        if (edges.size() < fewest_edges) return too_few();
        keep_plain_edges(edges);
        if (edges.size() < fewest_edges || !stands_out(edges)) return too_few();
        std::vector<double> sigmas;
        for (const MeasuredEdge& e : edges) sigmas.push_back(e.fit.sigma_mm);
        sigma_mm = quantile(sigmas, 0.5);
        reach_mm = std::clamp(3.2 * sigma_mm, 3 * voxel_mm, 8 * voxel_mm);
    }
    const double bin_mm = 0.15 * voxel_mm;
    const auto sigma = pooled_sigma_mm(edges, 0, 1, reach_mm, bin_mm);
    if (!sigma) return too_few();
    constexpr std::size_t groups = 8;
    std::vector<double> group_sigmas;
    for (std::size_t group = 0; group < groups; ++group) {
        if (const auto s = pooled_sigma_mm(edges, group, groups, reach_mm, 4 * bin_mm)) {
            group_sigmas.push_back(*s);
        }
    }
    double mean = 0;
    double variance = 0;
    for (const double s : group_sigmas) mean += s / double(group_sigmas.size());
    for (const double s : group_sigmas) variance += (s - mean) * (s - mean);
    variance /= std::max<double>(1, double(group_sigmas.size()) - 1);
    const double to_fwhm = 2 * std::sqrt(2 * std::numbers::ln2);
    std::vector<double> steps;
    for (const MeasuredEdge& e : edges) steps.push_back(e.fit.step_grey);
    return Sharpness{to_fwhm * *sigma, to_fwhm * std::sqrt(variance / groups), quantile(steps, 0.5),
                     edges.size()};
}

}  // namespace anfract
