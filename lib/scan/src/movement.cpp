#include "anfract/scan/movement.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>
#include <vector>

#include "edge_fit.h"
#include "edge_points.h"
#include "smoothing.h"

namespace anfract {
namespace {

constexpr double step_mm = 0.05;
constexpr int half_steps = 30;
constexpr double reach_mm = half_steps * step_mm;
constexpr std::size_t most_edges = 1000, fewest_edges = 300;

/// Slopes along the normal of an edge, of the grey value, as shares of the slope at the edge.
struct Profile {
    Vec3 normal_P;
    std::array<float, 2 * half_steps + 1> slope{};

    double at(double t_mm) const {
        const double x = std::clamp(t_mm / step_mm + half_steps, 0.0, 2.0 * half_steps - 1e-6);
        const auto n = static_cast<std::size_t>(x);
        return slope[n] + (x - double(n)) * (slope[n + 1] - slope[n]);
    }
};

/// Strong edges, but not the strongest, which are metal's; far enough from the border for a
/// profile.
std::vector<EdgePoint> strong_edges(const Brick& smooth, unsigned threads) {
    constexpr double weakest = 0.7, strongest = 0.99;
    EdgeSearch search;
    search.margin_voxels =
        std::max(4, int(std::ceil(reach_mm / smooth.geometry.spacing_mm.minCoeff())) + 2);
    search.every = 3;
    std::vector<EdgePoint> points = edge_points(smooth, search, threads);
    if (points.empty()) return points;
    const double from = strength_quantile(points, weakest);
    const double to = strength_quantile(points, strongest);
    std::erase_if(points, [&](const EdgePoint& p) { return p.strength < from || p.strength > to; });
    return thinned(points, most_edges);
}

std::vector<Profile> profiles_of(const Brick& smooth, const std::vector<EdgePoint>& points) {
    constexpr float steepest = 1.25F;
    const GridGeometry& g = smooth.geometry;
    std::vector<Profile> profiles;
    for (const EdgePoint& point : points) {
        const Vec3 along_I = point.normal.cwiseQuotient(g.spacing_mm) * step_mm;
        std::array<float, 2 * half_steps + 3> grey{};
        for (std::size_t n = 0; n < grey.size(); ++n)
            grey[n] = interpolate(smooth, point.voxel_I + (double(n) - half_steps - 1) * along_I);
        Profile profile;
        profile.normal_P = g.direction * point.normal;
        const float slope_at_edge = grey[half_steps + 2] - grey[half_steps];
        if (!(slope_at_edge > 0)) continue;
        for (std::size_t n = 0; n < profile.slope.size(); ++n)
            profile.slope[n] = (grey[n + 2] - grey[n]) / slope_at_edge;
        // Beside a much steeper edge this one is not the first image of anything.
        if (*std::max_element(profile.slope.begin(), profile.slope.end()) < steepest)
            profiles.push_back(profile);
    }
    return profiles;
}

/// Where the usual profile has fallen to exp(-1/2): the standard deviation of the blur, that of
/// the smoothing included.
double usual_blur_mm(const std::vector<Profile>& profiles) {
    for (int n = 1; n < half_steps; ++n) {
        std::vector<double> values;
        for (const Profile& p : profiles)
            values.push_back(
                (p.slope[std::size_t(half_steps + n)] + p.slope[std::size_t(half_steps - n)]) / 2);
        const auto middle = values.begin() + std::ptrdiff_t(values.size() / 2);
        std::nth_element(values.begin(), middle, values.end());
        if (*middle < std::exp(-0.5)) return n * step_mm;
    }
    return reach_mm;
}

/// How high second images of edges stand, on the lesser of their two sides, and how many standard
/// errors that is.
struct Height {
    double mean = 0, sureness = 0;
};

/// Mean slopes at n.d beyond edges that look along d and against it: those whose second image
/// would, for the shift `clear_P`, lie clear of the first one's blur.
Height second_image(const std::vector<Profile>& profiles, const Vec3& d_P, const Vec3& clear_P,
                    double clear_mm) {
    constexpr double most = 0.6;
    constexpr int fewest = 40;
    std::array<double, 2> sum{}, squares{}, count{};
    for (const Profile& profile : profiles) {
        const double clear = profile.normal_P.dot(clear_P);
        if (std::abs(clear) < clear_mm) continue;
        const std::size_t side = clear > 0 ? 1 : 0;
        const double t = profile.normal_P.dot(d_P);
        const double slope =
            std::abs(t) < 0.7 * clear_mm ? 0.0 : std::clamp(profile.at(t), -most, most);
        sum[side] += slope;
        squares[side] += slope * slope;
        count[side] += 1;
    }
    Height lesser{most, std::numeric_limits<double>::infinity()};
    for (std::size_t side = 0; side < 2; ++side) {
        if (count[side] < fewest) return {};
        const double mean = sum[side] / count[side];
        const double variance = squares[side] / count[side] - mean * mean;
        lesser.mean = std::min(lesser.mean, mean);
        lesser.sureness = std::min(lesser.sureness, mean / std::sqrt(variance / count[side]));
    }
    return lesser;
}

void seek_second_image(const std::vector<Profile>& profiles, double blur_mm, Movement& movement) {
    constexpr int directions = 150;
    constexpr double golden_rad = 2.39996323;  // spreads points over a sphere
    const double clear_mm = std::max(0.3, 2.3 * blur_mm);
    double surest = 0;
    for (int n = 0; n < directions; ++n) {
        const double z = 1 - 2 * (n + 0.5) / directions;
        const double r = std::sqrt(1 - z * z);
        const Vec3 toward(r * std::cos(n * golden_rad), r * std::sin(n * golden_rad), z);
        for (const double length_mm : {0.55, 0.7, 0.85, 1.0, 1.2, 1.4}) {
            const Vec3 d_P = length_mm * toward;
            const Height found = second_image(profiles, d_P, d_P, clear_mm);
            if (found.sureness <= surest) continue;
            surest = found.sureness;
            movement.second_image = found.mean;
            movement.shift_P = d_P;
        }
    }
    // More edges stand clear of a longer shift, which makes it surer: its length is that at which
    // the same edges have their second image highest.
    const Vec3 coarse_P = movement.shift_P;
    double highest = movement.second_image;
    for (const double closer_mm : {0.2, 0.1, 0.05}) {
        const Vec3 middle_P = movement.shift_P;
        for (int n = 0; n < 27; ++n) {
            const Vec3 d_P = middle_P + closer_mm * Vec3(n % 3 - 1, n / 3 % 3 - 1, n / 9 - 1);
            const Height found = second_image(profiles, d_P, coarse_P, clear_mm);
            if (found.mean <= highest) continue;
            highest = found.mean;
            movement.shift_P = d_P;
        }
    }
}

/// Fits the variances of single edges with a quadratic form of their normals.
void measure_softness(const Brick& brick, const std::vector<EdgePoint>& points,
                      Movement& movement) {
    using Form = Eigen::Matrix<double, 6, 1>;
    constexpr std::size_t most_fits = 700;
    constexpr double look_mm = 0.7, apart_mm = 0.1, start_mm = 0.15;
    constexpr double most_off_mm = 0.3, most_sigma_mm = 0.6;
    constexpr int rounds = 8;
    constexpr double usual_scatter_mm2 = 0.01;
    const GridGeometry& g = brick.geometry;
    std::vector<std::pair<Form, double>> rows;
    for (const EdgePoint& point : thinned(points, most_fits)) {
        const Vec3 along_I = point.normal.cwiseQuotient(g.spacing_mm);
        std::vector<EdgeSample> samples;
        for (double t = -look_mm; t < look_mm + apart_mm / 2; t += apart_mm)
            samples.push_back({t, interpolate(brick, point.voxel_I + t * along_I)});
        const std::optional<EdgeFit> fit = fit_edge(samples, start_mm);
        if (!fit || std::abs(fit->t0_mm) > most_off_mm || fit->sigma_mm > most_sigma_mm) continue;
        const Vec3 n = g.direction * point.normal;
        Form row;
        row << n.x() * n.x(), n.y() * n.y(), n.z() * n.z(), 2 * n.x() * n.y(), 2 * n.x() * n.z(),
            2 * n.y() * n.z();
        rows.emplace_back(row, fit->sigma_mm * fit->sigma_mm);
    }
    Form form = Form::Zero();
    for (int round = 0; round < rounds; ++round) {
        Eigen::Matrix<double, 6, 6> normal = 1e-6 * Eigen::Matrix<double, 6, 6>::Identity();
        Form right = Form::Zero();
        for (const auto& [row, variance_mm2] : rows) {
            const double off = (variance_mm2 - row.dot(form)) / usual_scatter_mm2;
            const double weight = round == 0 ? 1 : 1 / (1 + off * off);
            normal += weight * row * row.transpose();
            right += weight * variance_mm2 * row;
        }
        form = normal.ldlt().solve(right);
    }
    Mat3 matrix;
    matrix << form[0], form[3], form[4], form[3], form[1], form[5], form[4], form[5], form[2];
    const Eigen::SelfAdjointEigenSolver<Mat3> axes(matrix);
    movement.blur_axis_P = axes.eigenvectors().col(2);
    movement.blur_ratio =
        std::sqrt(std::max(axes.eigenvalues()[2], 1e-4) / std::max(axes.eigenvalues()[1], 1e-4));
}

}  // namespace

Result<Movement> find_movement(const Brick& brick, unsigned threads) {
    constexpr double least_smoothing_mm = 0.15;
    const double voxel_mm = std::cbrt(brick.geometry.spacing_mm.prod());
    const double smoothing_voxels = std::max(1.0, least_smoothing_mm / voxel_mm);
    std::vector<EdgePoint> points;
    std::vector<Profile> profiles;
    if (brick.geometry.voxel_count() > 0) {
        const Brick smooth{brick.geometry, gaussian_smoothed(brick, smoothing_voxels, threads)};
        points = strong_edges(smooth, threads);
        profiles = profiles_of(smooth, points);
    }
    if (profiles.size() < fewest_edges) {
        return fail(ErrorCode::NotConverged, "too few clear edges to look for movement", "scan",
                    "choose a region that holds the surface of a tooth");
    }
    const double blur_mm = usual_blur_mm(profiles);
    Movement movement;
    seek_second_image(profiles, blur_mm, movement);
    measure_softness(brick, points, movement);
    return movement;
}

}  // namespace anfract
