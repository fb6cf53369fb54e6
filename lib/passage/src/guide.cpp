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

Guide::Guide(const Lumen& lumen)
    : lumen_(&lumen), spacing_mm_(lumen.spacing_mm()), stations_per_mm_(1 / spacing_mm_) {
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

namespace {

/// Divides once.
Vec3 unit(const Vec3& v) { return v * (1 / std::sqrt(v.squaredNorm())); }

}  // namespace

Guide::Bracket Guide::bracket(double depth_mm) const {
    const double place = (depth_mm - orifice_mm()) * stations_per_mm_;
    const int low = std::clamp(static_cast<int>(place), 0, lumen_->station_count() - 2);
    return {low, place - low};
}

GuidePoint Guide::point(double depth_mm) const {
    const Lumen& l = *lumen_;
    const auto [i, place] = bracket(depth_mm);
    const double t = std::clamp(place, 0.0, 1.0);
    const double h = spacing_mm_;
    const Vec3 chord = stations_per_mm_ * (l.point_P[i + 1] - l.point_P[i]);
    const Vec3 &before = l.tangent_P[i], &after = l.tangent_P[i + 1];
    // The cubic with these ends as a polynomial in t: point + h (t before + t^2 bend + t^3 twist).
    const Vec3 bend = 3 * chord - 2 * before - after, twist = before + after - 2 * chord;
    GuidePoint result{l.point_P[i] + h * t * (before + t * (bend + t * twist)),
                      before + t * (2 * bend + 3 * t * twist),
                      stations_per_mm_ * (2 * bend + 6 * t * twist)};
    if (place != t) {
        result.point_P += (place - t) * h * unit(result.first);
        result.second_per_mm.setZero();
    }
    return result;
}

GuidePlace Guide::place(double depth_mm) const { return place(depth_mm, point(depth_mm)); }

GuidePlace Guide::place(double depth_mm, const GuidePoint& at) const {
    const auto [i, place] = bracket(depth_mm);
    const double t = std::clamp(place, 0.0, 1.0);
    GuidePlace result;
    result.point_P = at.point_P;
    result.tangent_P = unit(at.first);
    const Vec3 n1 = (1 - t) * lumen_->n1_P[i] + t * lumen_->n1_P[i + 1];
    result.n1_P = unit(n1 - n1.dot(result.tangent_P) * result.tangent_P);
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

Guide::Support Guide::support(int side, double depth_mm) const {
    const auto [i, place] = bracket(depth_mm);
    const double t = std::clamp(place, 0.0, 1.0);
    const double above = support_mm_(side, i), below = support_mm_(side, i + 1);
    return {(1 - t) * above + t * below, place == t ? (below - above) * stations_per_mm_ : 0.0};
}

std::pair<Vec2, double> Guide::disc_mm(double depth_mm) const {
    const auto [i, place] = bracket(depth_mm);
    const double t = std::clamp(place, 0.0, 1.0);
    return {(1 - t) * incentre_mm_[i] + t * incentre_mm_[i + 1],
            (1 - t) * inradius_mm_[i] + t * inradius_mm_[i + 1]};
}

}  // namespace anfract
