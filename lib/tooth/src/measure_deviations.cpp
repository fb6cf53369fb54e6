#include "anfract/tooth/measure_deviations.h"

#include <Eigen/Cholesky>
#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include "anfract/base/parallel.h"
#include "anfract/geometry/moving_frame.h"
#include "centreline.h"

namespace anfract {
namespace {

constexpr std::size_t draws = 32;   ///< which know a standard deviation to 13 %
constexpr double end_reach_mm = 2;  ///< over which an end that lies deeper stretches the canal

/// Mean 0, variance 1, the same on every machine [BoxMuller1958].
double normal(std::mt19937_64& engine) {
    const auto uniform = [&] { return (double(engine() >> 11) + 0.5) * 0x1p-53; };
    const double radius = std::sqrt(-2 * std::log(uniform()));
    return radius * std::cos(2 * std::numbers::pi * uniform());
}

/// A canal's centreline as it might as well have been found.
class CentrelineDraws {
  public:
    explicit CentrelineDraws(const Canal& canal) : depth_sd_mm_(canal.depth_sd_mm.value_or(0)) {
        std::vector<Vec3> points;
        for (const CanalSample& sample : canal.samples) points.push_back(sample.point_P);
        line_ = Polyline(points);
        std::vector<Vec3> tangents;
        for (std::size_t n = 0; n < points.size(); ++n) {
            const std::size_t before = n > 0 ? n - 1 : 0;
            const std::size_t after = std::min(n + 1, points.size() - 1);
            tangents.push_back((points[after] - points[before]).normalized());
        }
        frames_ = rotation_minimising_frames(points, tangents);
        const auto count = static_cast<Eigen::Index>(points.size());
        Eigen::MatrixXd covariance(count, count);
        for (Eigen::Index i = 0; i < count; ++i) {
            for (Eigen::Index j = 0; j < count; ++j) {
                const auto a = std::size_t(i), b = std::size_t(j);
                const double z =
                    (line_.arc_mm()[a] - line_.arc_mm()[b]) / *canal.point_correlation_mm;
                covariance(i, j) = std::exp(-z * z / 2) * canal.samples[a].point_sd_mm *
                                   canal.samples[b].point_sd_mm;
            }
        }
        // A hair of independent error keeps the factor defined.
        covariance.diagonal().array() += 1e-6 * covariance.diagonal().maxCoeff() + 1e-16;
        root_ = Eigen::LLT<Eigen::MatrixXd>(covariance).matrixL();
    }

    Polyline next(std::mt19937_64& engine) const {
        Eigen::MatrixX2d z(root_.rows(), 2);
        for (Eigen::Index i = 0; i < z.size(); ++i) z(i) = normal(engine);
        const Eigen::MatrixX2d across = root_ * z;
        const double deeper = depth_sd_mm_ * normal(engine);
        const double reach = std::max(end_reach_mm, 4 * std::abs(deeper));
        std::vector<Vec3> points;
        for (std::size_t n = 0; n < frames_.size(); ++n) {
            const auto row = static_cast<Eigen::Index>(n);
            const double to_end = line_.length_mm() - line_.arc_mm()[n];
            const double along = deeper * std::max(0.0, 1 - to_end / reach);
            points.push_back(line_.points()[n] + across(row, 0) * frames_[n].n1 +
                             across(row, 1) * frames_[n].n2 + along * frames_[n].tangent);
        }
        return centreline_through(points);
    }

  private:
    double depth_sd_mm_;
    Polyline line_;
    std::vector<MovingFrame> frames_;
    Eigen::MatrixXd root_;
};

/// The root mean square of differences.
class Deviation {
  public:
    void add(double difference) {
        squares_ += difference * difference;
        ++count_;
    }
    double sd() const { return count_ > 0 ? std::sqrt(squares_ / count_) : 0.0; }

  private:
    double squares_ = 0;
    int count_ = 0;
};

double bending(const std::optional<double>& radius_mm) { return radius_mm ? 1 / *radius_mm : 0.0; }

ViewDeviations deviations_of(const ViewMeasures& stated, const std::vector<ViewMeasures>& drawn) {
    Deviation schneider, tangent, access, total, arc, three_point;
    for (const ViewMeasures& view : drawn) {
        schneider.add(view.schneider_deg - stated.schneider_deg);
        tangent.add(view.tangent_deg - stated.tangent_deg);
        access.add(view.access_deg - stated.access_deg);
        total.add(view.total_curvature_deg - stated.total_curvature_deg);
        arc.add(bending(view.arc_radius_mm) - bending(stated.arc_radius_mm));
        three_point.add(bending(view.three_point_radius_mm) -
                        bending(stated.three_point_radius_mm));
    }
    ViewDeviations sd{schneider.sd(), tangent.sd(), access.sd(), total.sd(), {}, {}};
    const auto of_radius = [](const std::optional<double>& radius_mm, const Deviation& bent) {
        return radius_mm ? std::optional(*radius_mm * *radius_mm * bent.sd()) : std::nullopt;
    };
    sd.arc_radius_mm = of_radius(stated.arc_radius_mm, arc);
    sd.three_point_radius_mm = of_radius(stated.three_point_radius_mm, three_point);
    return sd;
}

/// The bend that shares most of its length with one from `from_mm` to `to_mm`; none shares nothing.
const Bend* same_bend(const std::vector<Bend>& bends, double from_mm, double to_mm) {
    const Bend* best = nullptr;
    double most = 0;
    for (const Bend& bend : bends) {
        const double shared = std::min(bend.to_mm, to_mm) - std::max(bend.from_mm, from_mm);
        if (shared <= most) continue;
        most = shared;
        best = &bend;
    }
    return best;
}

/// @param first_depth_mm  of the canal: bends of a drawn line count from its beginning
BendDeviations deviations_of(const Bend& stated, double first_depth_mm,
                             const std::vector<std::vector<Bend>>& drawn) {
    Deviation angle, bent, sharpest;
    for (const std::vector<Bend>& bends : drawn) {
        const Bend* same =
            same_bend(bends, stated.from_mm - first_depth_mm, stated.to_mm - first_depth_mm);
        angle.add((same ? same->angle_deg : 0) - stated.angle_deg);
        bent.add((same ? 1 / same->radius_mm : 0) - 1 / stated.radius_mm);
        sharpest.add((same ? 1 / same->least_radius_mm : 0) - 1 / stated.least_radius_mm);
    }
    return {angle.sd(), stated.radius_mm * stated.radius_mm * bent.sd(),
            stated.least_radius_mm * stated.least_radius_mm * sharpest.sd()};
}

constexpr std::array views{&CanalMeasures::clinical, &CanalMeasures::across, &CanalMeasures::worst,
                           &CanalMeasures::space};

void add_deviations(const Canal& canal, CanalMeasures& measures) {
    const CentrelineDraws centrelines(canal);
    std::array<std::vector<ViewMeasures>, views.size()> seen;
    for (auto& one : seen) one.resize(draws);
    std::vector<std::vector<Bend>> bends(draws);
    parallel_for(draws, 0, [&](std::size_t begin, std::size_t end) {
        for (std::size_t n = begin; n < end; ++n) {
            std::mt19937_64 engine(n);
            const Polyline line = centrelines.next(engine);
            for (std::size_t v = 0; v < views.size(); ++v) {
                const ViewMeasures& stated = measures.*views[v];
                seen[v][n] = views[v] == &CanalMeasures::space
                                 ? measure_in_space(line, SchneiderRange::LeftOut)
                                 : measure_in_view(line, stated.toward_P, SchneiderRange::LeftOut);
            }
            bends[n] = bends_of(line);
        }
    });
    for (std::size_t v = 0; v < views.size(); ++v)
        (measures.*views[v]).sd = deviations_of(measures.*views[v], seen[v]);
    for (Bend& bend : measures.bends)
        bend.sd = deviations_of(bend, canal.samples.front().depth_mm, bends);
}

bool states_centreline(const Canal& canal) {
    return canal.point_correlation_mm.value_or(0) > 0 &&
           std::all_of(canal.samples.begin(), canal.samples.end(),
                       [](const CanalSample& sample) { return sample.point_sd_mm > 0; });
}

}  // namespace

void add_deviations(const Tooth& tooth, ToothMeasures& measures) {
    for (CanalMeasures& canal : measures.canals) {
        const Canal* measured = tooth.find(canal.canal);
        if (measured != nullptr && states_centreline(*measured)) add_deviations(*measured, canal);
    }
}

}  // namespace anfract
