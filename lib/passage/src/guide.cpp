#include "guide.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <utility>

namespace anfract {

namespace {

template <int count>
Eigen::Array<double, count, 2> made_directions() {
    Eigen::Array<double, count, 2> table;
    for (int j = 0; j < count; ++j) {
        const double theta = 2 * std::numbers::pi * j / count;
        table(j, 0) = std::cos(theta);
        table(j, 1) = std::sin(theta);
    }
    return table;
}

}  // namespace

const Eigen::Array<double, side_count, 2>& side_normals() {
    static const Eigen::Array<double, side_count, 2> normals = made_directions<side_count>();
    return normals;
}

const Eigen::ArrayX2d& even_directions(int count) {
    static const Eigen::ArrayX2d sides = made_directions<side_count>(),
                                 half = made_directions<side_count / 2>(),
                                 four = made_directions<4>();
    return count == 4 ? four : count == side_count / 2 ? half : sides;
}

std::pair<Vec2, double> largest_disc(const Eigen::Array<double, side_count, 1>& support_mm) {
    using Sides = Eigen::Array<double, side_count, 1>;
    constexpr double never = std::numeric_limits<double>::infinity();
    const auto& n = side_normals();
    const auto normal = [&n](int j) { return Vec2(n(j, 0), n(j, 1)); };
    // Where the centre goes per growth of the radius when two sides stay touched; none between
    // parallel ones.
    const auto between = [&normal](int p, int q) -> std::optional<Vec2> {
        const Vec2 sum = normal(p) + normal(q);
        if (sum.squaredNorm() < 1e-9) return {};
        return -2 * sum / sum.squaredNorm();
    };
    // The linear programme max t, n_j . c + t <= h_j, walked along its edges from the centre: grow
    // the disc away from the sides it touches until they hold it from all around.
    Vec2 centre(0, 0);
    int a = 0, b = -1;  // sides touched
    double radius = support_mm.minCoeff(&a);
    for (int step = 0; step < 2 * side_count; ++step) {
        const std::optional<Vec2> away = b < 0 ? Vec2(-normal(a)) : between(a, b);
        if (!away) break;
        const Sides closing = n.col(0) * away->x() + n.col(1) * away->y() + 1;
        const Sides room = support_mm - n.col(0) * centre.x() - n.col(1) * centre.y() - radius;
        double grow = never;
        int hit = -1;
        for (int j = 0; j < side_count; ++j) {
            // Dividing only where the disc would come to a side sooner.
            if (closing[j] <= 1e-12 || room[j] >= grow * closing[j] || j == a || j == b) continue;
            grow = std::max(room[j], 0.0) / closing[j];
            hit = j;
        }
        if (hit < 0) break;
        centre += grow * *away;
        radius += grow;
        if (b < 0) {
            b = hit;
            continue;
        }
        // Keep the pair whose escape direction the third side does not close; if none, the disc is
        // held.
        const auto opens = [&](int p, int third) {
            const auto way = between(p, hit);
            return way && normal(third).dot(*way) + 1 <= 1e-12;
        };
        if (opens(a, b)) {
            b = hit;
        } else if (opens(b, a)) {
            a = std::exchange(b, hit);
        } else {
            break;
        }
    }
    return {centre, radius};
}

namespace {

/// The support of each section's convex hull: h_j = max over k of R_k cos(theta_k - theta_j).
void support_of_rims(const Eigen::ArrayXXd& radius_mm, Eigen::ArrayXXd& support_mm) {
    const auto rim_count = radius_mm.cols();
    support_mm.setConstant(-std::numeric_limits<double>::infinity());
    for (Eigen::Index k = 0; k < rim_count; ++k) {
        for (int j = 0; j < side_count; ++j) {
            const double cosine =
                std::cos(2 * std::numbers::pi *
                         (static_cast<double>(k) / static_cast<double>(rim_count) -
                          static_cast<double>(j) / side_count));
            support_mm.row(j) = support_mm.row(j).max(cosine * radius_mm.col(k).transpose());
        }
    }
}

/// The same where rims are seen along the directions of the sides. A rim more than a right angle
/// away gives less than nothing, and radii are above 0.
void support_of_even_rims(const Eigen::ArrayXXd& radius_mm, Eigen::ArrayXXd& support_mm) {
    constexpr int quarter = side_count / 4;
    std::array<double, quarter + 1> cosine;
    for (int m = 0; m <= quarter; ++m) cosine[m] = side_normals()(m, 0);
    std::array<double, side_count + 2 * quarter> around;
    for (Eigen::Index i = 0; i < radius_mm.rows(); ++i) {
        for (int k = 0; k < side_count + 2 * quarter; ++k) {
            around[k] = radius_mm(i, (k + side_count - quarter) % side_count);
        }
        double* support = &support_mm(0, i);
        for (int j = 0; j < side_count; ++j) support[j] = around[j + quarter];
        for (int m = 1; m < quarter; ++m) {
            for (int j = 0; j < side_count; ++j) {
                const double wider = std::max(around[j + quarter - m], around[j + quarter + m]);
                support[j] = std::max(support[j], cosine[m] * wider);
            }
        }
    }
}

}  // namespace

Guide::Guide(const Lumen& lumen) : lumen_(&lumen) {
    const int count = lumen.station_count();
    support_mm_.resize(side_count, count);
    if (lumen.theta_count() == side_count) {
        support_of_even_rims(lumen.radius_mm, support_mm_);
    } else {
        support_of_rims(lumen.radius_mm, support_mm_);
    }
    for (int i = 0; i < count; ++i) {
        const auto [centre, radius] = largest_disc(support_mm_.col(i));
        inradius_mm_.push_back(radius);
        incentre_mm_.push_back(centre);
        const int before = std::max(i - 1, 0), after = std::min(i + 1, count - 1);
        const Vec3 bend = (lumen.tangent_P[after] - lumen.tangent_P[before]) /
                          (lumen.depth_mm[after] - lumen.depth_mm[before]);
        curvature_per_mm_.emplace_back(bend.dot(lumen.n1_P[i]), bend.dot(lumen.n2_P[i]));
    }
}

Guide::Bracket Guide::bracket(double depth_mm) const {
    const double place = (depth_mm - orifice_mm()) / lumen_->spacing_mm();
    const int low = std::clamp(static_cast<int>(place), 0, lumen_->station_count() - 2);
    return {low, place - low};
}

GuidePlace Guide::place(double depth_mm) const {
    const Lumen& l = *lumen_;
    const auto [i, place] = bracket(depth_mm);
    const double t = std::clamp(place, 0.0, 1.0);
    const double h = l.spacing_mm();
    const double a = (1 + 2 * t) * (1 - t) * (1 - t), b = t * t * (3 - 2 * t);
    const double c = h * t * (1 - t) * (1 - t), d = -h * t * t * (1 - t);
    GuidePlace result;
    result.point_P =
        a * l.point_P[i] + b * l.point_P[i + 1] + c * l.tangent_P[i] + d * l.tangent_P[i + 1];
    const double da = 6 * t * (t - 1) / h, dc = (1 - t) * (1 - 3 * t), dd = t * (3 * t - 2);
    result.tangent_P =
        (da * (l.point_P[i] - l.point_P[i + 1]) + dc * l.tangent_P[i] + dd * l.tangent_P[i + 1])
            .normalized();
    result.point_P += (place - t) * h * result.tangent_P;
    const Vec3 n1 = (1 - t) * l.n1_P[i] + t * l.n1_P[i + 1];
    result.n1_P = (n1 - n1.dot(result.tangent_P) * result.tangent_P).normalized();
    result.n2_P = result.tangent_P.cross(result.n1_P);
    return result;
}

GuideSection Guide::section(double depth_mm) const {
    const auto [i, place] = bracket(depth_mm);
    const double t = std::clamp(place, 0.0, 1.0);
    return {(1 - t) * support_mm_.col(i) + t * support_mm_.col(i + 1),
            (1 - t) * inradius_mm_[i] + t * inradius_mm_[i + 1],
            (1 - t) * incentre_mm_[i] + t * incentre_mm_[i + 1]};
}

double Guide::inradius_mm(double depth_mm) const {
    const auto [i, place] = bracket(depth_mm);
    const double t = std::clamp(place, 0.0, 1.0);
    return (1 - t) * inradius_mm_[i] + t * inradius_mm_[i + 1];
}

Vec2 Guide::curvature_per_mm(double depth_mm) const {
    const auto [i, place] = bracket(depth_mm);
    const double t = std::clamp(place, 0.0, 1.0);
    return (1 - t) * curvature_per_mm_[i] + t * curvature_per_mm_[i + 1];
}

Eigen::Array<double, side_count, 1> Guide::support_slope(double depth_mm) const {
    const auto [i, place] = bracket(depth_mm);
    if (place < 0 || place > 1) return Eigen::Array<double, side_count, 1>::Zero();
    return (support_mm_.col(i + 1) - support_mm_.col(i)) / lumen_->spacing_mm();
}

}  // namespace anfract
