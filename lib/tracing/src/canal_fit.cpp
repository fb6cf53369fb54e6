#include "canal_fit.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "anfract/base/parallel.h"
#include "anfract/geometry/curve_derivatives.h"
#include "isthmus.h"
#include "series.h"
#include "tell_apart.h"

namespace anfract::tracing {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double slab_mm = 0.4;
constexpr int rounds = 3;
constexpr double bend_per_mm = 0.3;  ///< prior standard deviation of curvature
constexpr double width_bend_mm =
    0.12;                           ///< prior of the second derivative of the diameter, per mm^2
constexpr double end_taper = 0.06;  ///< prior of the diameter's slope beyond the last section: a
                                    ///< canal does not taper off at its foramen
constexpr double settled_line_sd_mm = 0.05;  ///< of a line that was fitted
constexpr double unmeasured_sd_mm = 0.25;    ///< of the path itself
constexpr double flare_mm = 1.0;             ///< of the line that the chamber bends
constexpr double flare_sd_mm = 1.0;          ///< of centres there: next to no weight
constexpr double rim_sigma = 1.6;            ///< of the point spread under the surface: no one's
constexpr double ground_sigma = 2.5;         ///< and less: the outside's blur still shows
constexpr double one_lumen_sigma = 1.6;      ///< between lines: they run in one
constexpr double fixed_sd_mm = 0.002;
constexpr double centre_model_sd_mm = 0.03;  ///< of a centre, beside its noise
constexpr double usual_mouth_mm = 0.4, widest_mouth_mm = 1.4;
constexpr double contrast_sd = 0.05;   ///< relative, of the area: the levels, and the tail of the
                                       ///< blur that the window cuts off
constexpr double model_sd_mm = 0.006;  ///< of the diameter: what narrow canals of phantoms showed
                                       ///< beyond that (docs/methods/tracing.md, "Fit")

double half_size_mm(const SectionMeasure& last) {
    const double wide = std::sqrt(std::max(last.area_mm2, 0.0) / std::numbers::pi);
    return std::clamp(2.2 * wide + 0.8, 0.95, 2.4);
}

/// The nearest sections of the other canals to a place, within reach of a section.
std::vector<FittedSection> neighbours(const FitInput& input, const Vec3& point_P) {
    constexpr double reach_mm = 3.5;
    std::vector<FittedSection> near;
    for (const auto& other : input.others) {
        const FittedSection& section = nearest_section(other, point_P);
        if ((section.station.point_P - point_P).norm() < reach_mm) near.push_back(section);
    }
    return near;
}

/// Density at `distance2` (squared) of a round blurred tube of that diameter, up to a common
/// factor.
double tube_density(double distance2, double diameter_mm, double sigma_mm) {
    const double variance = sigma_mm * sigma_mm + diameter_mm * diameter_mm / 16;
    return diameter_mm * diameter_mm / variance * std::exp(-distance2 / (2 * variance));
}

class Fit {
  public:
    explicit Fit(const FitInput& input)
        : input_(input), setting_(section_setting(input.brick, input.levels, slab_mm)) {}

    FittedCanal run() {
        Polyline line = input_.start;
        for (int round = 0; round < rounds; ++round) {
            cover_mouth(line);
            stations_ = stations_along(line, station_spacing_mm);
            measure_all();
            line = recentred(line);
            if (input_.ends_at_surface) line = led_to_surface(line);
        }
        stations_ = stations_along(line, station_spacing_mm);
        settled_ = true;
        setting_.place_sd_mm = settled_line_sd_mm;
        measure_all();
        return finished();
    }

  private:
    /// The surface over the canal's end as the line now stands.
    void cover_mouth(const Polyline& line) {
        if (!input_.ends_at_surface) return;
        const double width = measures_.empty() ? usual_mouth_mm : mouth_width();
        cap_ = mouth_cap(line, width, setting_.sigma_psf_mm, input_.body.depth);
    }

    /// The diameter at the end: of the last section that is measured, but the median of the last
    /// ones where the end is open, since the dent of the mask cuts the very last.
    double mouth_width() const {
        constexpr std::size_t looked_at = 8;
        constexpr double open_mm = 0.6;
        std::vector<double> last;
        for (std::size_t n = measures_.size(); n-- > 0 && last.size() < looked_at;) {
            if (measures_[n].valid) last.push_back(widths_[n]);
        }
        if (last.empty()) return usual_mouth_mm;
        double width = last.front();
        std::nth_element(last.begin(), last.begin() + std::ptrdiff_t(last.size() / 2), last.end());
        if (last[last.size() / 2] > open_mm) width = std::max(width, last[last.size() / 2]);
        return std::clamp(width, 0.2, widest_mouth_mm);
    }

    /// Measures all sections, in stretches that go their own ways: what is looked at of a section
    /// is as large as the lumen of the one before it needs, and of the first one of a stretch as
    /// was needed there in the round before.
    void measure_all() {
        constexpr std::size_t stretch = 8;
        const std::vector<SectionMeasure> before = std::move(measures_);
        const std::size_t count = stations_.size();
        measures_.assign(count, {});
        const std::size_t stretches = (count + stretch - 1) / stretch;
        parallel_for(stretches, input_.threads, [&](std::size_t begin, std::size_t end) {
            for (std::size_t k = begin; k < end; ++k) {
                const std::size_t first = k * stretch, last = std::min(first + stretch, count);
                double half_mm = half_size_at(first, before);
                for (std::size_t n = first; n < last; ++n) {
                    measures_[n] = measure_at(n, half_mm);
                    if (measures_[n].valid) half_mm = half_size_mm(measures_[n]);
                }
            }
        });
        widths_.clear();
        for (const SectionMeasure& m : measures_) {
            widths_.push_back(std::sqrt(4 / std::numbers::pi * std::max(m.area_mm2, 0.01)));
        }
    }

    /// Of what is looked at of a section that begins a stretch.
    double half_size_at(std::size_t n, const std::vector<SectionMeasure>& before) const {
        const double least_mm = half_size_mm({});
        if (before.empty()) {
            if (n == 0) return least_mm;
            const SectionMeasure guess = measure_at(n, least_mm);
            return guess.valid ? half_size_mm(guess) : least_mm;
        }
        for (std::size_t m = std::min(n, before.size()); m-- > 0;) {
            if (before[m].valid) return half_size_mm(before[m]);
        }
        return least_mm;
    }

    SectionMeasure measure_at(std::size_t n, double half_mm) const {
        const Share inside = [&](const Vec3& p) {
            return depth_at(p) < rim_sigma * setting_.sigma_psf_mm ? 0.0 : 1.0;
        };
        std::vector<FittedSection> others = neighbours(input_, stations_[n].point_P);
        Station station = stations_[n];
        tell_apart(input_.brick, setting_, inside, {station, own_width(n)}, others);
        // Where two canals are one, the width is that of both; where either runs in it, the
        // section does not say.
        const auto is_one = [&](const FittedSection& other) {
            return (other.station.point_P - station.point_P).norm() <
                   one_lumen_sigma * setting_.sigma_psf_mm;
        };
        const bool placeless = !settled_ && std::any_of(others.begin(), others.end(), is_one);
        if (settled_) std::erase_if(others, is_one);
        const Share share = [&](const Vec3& p) {
            return share_at(p, station.point_P, own_width(n), others);
        };
        SectionImage image = sample_section(input_.brick, station, half_mm, slab_mm, share);
        for (const FittedSection& other : others) {
            const Vec3 offset = other.station.point_P - station.point_P;
            const Vec2 other_mm(offset.dot(station.n1_P), offset.dot(station.n2_P));
            fill_isthmus(find_isthmus(image, setting_, other_mm), setting_, image);
        }
        SectionMeasure measure = measure_section(image, setting_);
        const Vec3 shift = station.point_P - stations_[n].point_P;
        measure.x_mm += shift.dot(station.n1_P);
        measure.y_mm += shift.dot(station.n2_P);
        // Where it meets the surface, the section is not its own.
        if (placeless || depth_at(station.point_P) < least_depth_mm(measure)) measure.valid = false;
        return measure;
    }

    double own_width(std::size_t n) const {
        return n < widths_.size() ? widths_[n] : guessed_width_mm;
    }

    /// How deep under the surface a section must lie to be trusted: the dent of an open mouth is as
    /// deep as wide, and cuts one side of it first.
    double least_depth_mm(const SectionMeasure& m) const {
        constexpr double open_mm = 0.6, share = 0.6;
        const double width = std::sqrt(4 / std::numbers::pi * std::max(m.area_mm2, 0.0));
        return std::max(2.5 * setting_.sigma_psf_mm, width > open_mm ? share * width : 0.0);
    }

    /// This canal's share of what is missing at a point: responsibilities of blurred tubes.
    PlaceShare share_at(const Vec3& p, const Vec3& own_P, double own_width_mm,
                        const std::vector<FittedSection>& others) const {
        const double depth_mm = depth_at(p);
        if (depth_mm < rim_sigma * setting_.sigma_psf_mm) return {0, false};
        const bool ground = !settled_ || depth_mm > ground_sigma * setting_.sigma_psf_mm;
        if (others.empty()) return {1, ground};
        const double sigma = setting_.sigma_psf_mm;
        const double own_distance2 = (p - own_P).squaredNorm();
        const double own = tube_density(own_distance2, own_width_mm, sigma);
        double all = own;
        double nearest2 = infinity;
        for (const FittedSection& other : others) {
            const double distance2 = (p - other.station.point_P).squaredNorm();
            nearest2 = std::min(nearest2, distance2);
            all += tube_density(distance2, other.diameter_mm, sigma);
        }
        // Far from all of them a Gaussian says nothing: the nearest has it.
        if (all < 1e-12) return {own_distance2 < nearest2 ? 1.0 : 0.0, ground};
        return {own / all, ground};
    }

    double depth_at(const Vec3& point_P) const {
        const double plain =
            interpolate(input_.body.depth, input_.body.depth.geometry.to_voxel(point_P));
        return cap_ ? cap_->depth_mm(point_P, plain) : plain;
    }

    /// Where the canal flares into the chamber, a section's centroid leans to the side on which the
    /// blurred chamber stands and the path comes from within it: the course further down decides.
    void doubt_flare(std::vector<double>& sd) const {
        for (std::size_t n = 0; n < sd.size() && stations_[n].s_mm < flare_mm; ++n) {
            sd[n] = std::max(sd[n], flare_sd_mm);
        }
    }

    std::size_t station_at(const Vec3& point_P) const {
        const auto nearest = std::min_element(
            stations_.begin(), stations_.end(), [&](const Station& a, const Station& b) {
                return (a.point_P - point_P).squaredNorm() < (b.point_P - point_P).squaredNorm();
            });
        return std::size_t(nearest - stations_.begin());
    }

    /// What the user fixed outweighs what was measured there, and makes what was measured beside it
    /// doubtful by as much as the two differ.
    void hold_fixed(std::vector<Vec3>& points, std::vector<double>& sd) const {
        constexpr double doubt_reach_mm = 0.6;
        for (const FixedPlace& place : input_.fixed) {
            const std::size_t n = station_at(place.point_P);
            const double apart = (place.point_P - points[n]).norm();
            for (std::size_t m = 0; m < sd.size(); ++m) {
                const double z = (stations_[m].s_mm - stations_[n].s_mm) / doubt_reach_mm;
                sd[m] = std::hypot(sd[m], apart * std::exp(-z * z / 2));
            }
        }
        for (const FixedPlace& place : input_.fixed) {
            const std::size_t n = station_at(place.point_P);
            const Vec3& t = stations_[n].tangent_P;
            const Vec3 offset = place.point_P - stations_[n].point_P;
            const bool at_end = n == 0 || n + 1 == stations_.size();
            points[n] = at_end ? place.point_P : stations_[n].point_P + offset - offset.dot(t) * t;
            sd[n] = fixed_sd_mm;
        }
    }

    Polyline recentred(const Polyline& line) {
        const std::size_t count = stations_.size();
        std::vector<double> sd(count, infinity);
        std::vector<double> slab_sd(count, 0.0);
        std::vector<Vec3> points(count);
        for (std::size_t n = 0; n < count; ++n) {
            points[n] = stations_[n].point_P;
            const SectionMeasure& m = measures_[n];
            // The path may run along one side of a broad canal.
            const double furthest = std::max(0.45, 0.9 * widths_[n]);
            const bool good = m.valid && std::isfinite(m.centre_sd_mm) &&
                              m.area_mm2 > 1.5 * m.area_sd_mm2 &&
                              std::hypot(m.x_mm, m.y_mm) < furthest;
            if (good) {
                points[n] = stations_[n].at(m.x_mm, m.y_mm);
                sd[n] = std::hypot(m.centre_sd_mm, centre_model_sd_mm);
                slab_sd[n] = m.centre_sd_mm;
            } else {
                sd[n] = unmeasured_sd_mm;
            }
        }
        if (input_.starts_in_chamber) doubt_flare(sd);
        if (!input_.ends_at_surface) sd.back() = 0.02;
        hold_fixed(points, sd);
        const double h = smoothed_spacing_mm_ = line.length_mm() / double(count - 1);
        std::vector<Vec3> fitted(count);
        for (int axis = 0; axis < 3; ++axis) {
            std::vector<double> y(count);
            for (std::size_t n = 0; n < count; ++n) y[n] = points[n][axis];
            const Series series = smooth_series(y, sd, h, 1.0, bend_per_mm);
            for (std::size_t n = 0; n < count; ++n) fitted[n][axis] = series.value[n];
        }
        left_over_.clear();
        for (std::size_t n = 0; n < count; ++n)
            left_over_.push_back((points[n] - fitted[n]).squaredNorm() / 2);
        centre_sd_ = std::move(sd);
        slab_sd_ = std::move(slab_sd);
        smoothed_ = Polyline(fitted);
        return smoothed_;
    }

    /// Of the line as it was last smoothed. A measured centre has the noise of its slab; the rest
    /// of the standard deviation that it was smoothed with asks for a smoother line and is no
    /// error. What has no section, or a doubtful one, is as far off as it lies from the line.
    SeriesError centre_error() const {
        SeriesNoise noise{
            {}, slab_sd_, slab_mm, std::numbers::sqrt2 * noise_sigma_mm(setting_), left_over_, {}};
        for (const CurvePoint& point : curve_derivatives(smoothed_, {.half_window_mm = 1.0}))
            noise.curvature_per_mm.push_back(point.curvature());
        for (std::size_t n = 0; n < centre_sd_.size(); ++n) {
            const double smoothed_with = std::hypot(slab_sd_[n], centre_model_sd_mm);
            const bool measured = slab_sd_[n] > 0 && centre_sd_[n] <= smoothed_with;
            if (!measured) noise.slab_sd[n] = 0;
            noise.own_sd.push_back(measured ? 0
                                            : std::min(centre_sd_[n], std::sqrt(left_over_[n])));
        }
        return series_error(centre_sd_, noise, smoothed_spacing_mm_, 1.0, bend_per_mm);
    }

    /// Near the surface neither path nor section can be trusted: the line goes on straight from
    /// where it is last sure, to where it leaves the tooth.
    Polyline led_to_surface(const Polyline& line) const {
        constexpr double sure_mm = 0.3;
        constexpr double base_mm = 0.5;
        constexpr double reach_mm = 1.5;
        double s = line.length_mm();
        double held = base_mm;
        for (const FixedPlace& place : input_.fixed) {
            held = std::max(held, line.nearest(place.point_P).s_mm);
        }
        while (s > held && depth_at(line.at(s)) < sure_mm) s -= 0.05;
        const Vec3 from = line.at(s);
        const Vec3 direction = (from - line.at(s - base_mm)).normalized();
        double out = 0;
        while (out < reach_mm && depth_at(from + out * direction) > 0) out += 0.02;
        if (s <= base_mm || out >= reach_mm) return line;
        std::vector<Vec3> points;
        for (std::size_t n = 0; n < line.points().size() && line.arc_mm()[n] < s; ++n) {
            points.push_back(line.points()[n]);
        }
        points.push_back(from);
        points.push_back(from + out * direction);
        return Polyline(points);
    }

    /// Means over a few neighbours, weighted by certainty, of area and moments.
    struct Averaged {
        std::vector<double> diameter, sd;
        std::vector<Eigen::Matrix2d> moments;
    };
    Averaged averaged() const {
        const int count = static_cast<int>(stations_.size());
        Averaged result;
        for (int n = 0; n < count; ++n) {
            double weights = 0, area = 0, variance = 0, moment_weights = 0;
            Eigen::Matrix2d moment = Eigen::Matrix2d::Zero();
            for (int k = std::max(0, n - 1); k <= std::min(count - 1, n + 1); ++k) {
                const SectionMeasure& m = measures_[std::size_t(k)];
                if (!m.valid) continue;
                const double w = k == n ? 1.0 : 0.5;
                weights += w;
                area += w * m.area_mm2;
                variance += w * w * m.area_sd_mm2 * m.area_sd_mm2;
                Eigen::Matrix2d own;
                own << m.moment_xx_mm2, m.moment_xy_mm2, m.moment_xy_mm2, m.moment_yy_mm2;
                moment += w * m.area_mm2 * own;
                moment_weights += w * m.area_mm2;
            }
            if (weights < 0.9) {
                result.diameter.push_back(0);
                result.sd.push_back(infinity);
                result.moments.push_back(Eigen::Matrix2d::Identity());
                continue;
            }
            area = std::max(area / weights, 0.0);
            // Neighbouring slabs overlap by half and their noise hangs together: means of them,
            // here and in the series, gain less than independent ones would.
            const double area_sd = 2.0 * std::sqrt(variance) / weights;
            const double d = std::sqrt(4 * area / std::numbers::pi);
            result.diameter.push_back(d);
            result.sd.push_back(2 * area_sd / (std::numbers::pi * std::max(d, 0.08)));
            result.moments.push_back(moment / std::max(moment_weights, 1e-6));
        }
        return result;
    }

    FittedCanal finished() const {
        Averaged means = averaged();
        const double h = stations_.size() > 1 ? stations_[1].s_mm : station_spacing_mm;
        std::vector<double> sd = means.sd;
        for (double& s : sd) s = std::hypot(s, 0.01);
        for (const FixedPlace& place : input_.fixed) {
            if (place.diameter_mm <= 0) continue;
            const std::size_t n = station_at(place.point_P);
            means.diameter[n] = place.diameter_mm;
            sd[n] = fixed_sd_mm;
        }
        const Series width = smooth_series(means.diameter, sd, h, 1.0, width_bend_mm, end_taper);
        const SeriesError centre = centre_error();
        FittedCanal canal;
        canal.centre_correlation_mm = centre.correlation_mm;
        for (std::size_t n = 0; n < stations_.size(); ++n) {
            FittedSection section;
            section.station = stations_[n];
            section.diameter_mm = std::max(width.value[n], 0.06);
            section.diameter_sd_mm =
                std::hypot(width.sd[n], contrast_sd / 2 * section.diameter_mm, model_sd_mm);
            const auto smoothed =
                std::size_t(std::lround(stations_[n].s_mm / smoothed_spacing_mm_));
            section.centre_sd_mm = centre.sd[std::min(smoothed, centre.sd.size() - 1)];
            shape(means.moments[n], means.sd[n], section);
            canal.sections.push_back(section);
        }
        draw_fixed(canal);
        canal.mouth = cap_;
        canal.foramen_sd_mm = foramen_sd(canal);
        return canal;
    }

    /// The sections that the user drew, as drawn.
    void draw_fixed(FittedCanal& canal) const {
        for (const FixedPlace& place : input_.fixed) {
            if (place.diameter_mm <= 0) continue;
            FittedSection& section = canal.sections[station_at(place.point_P)];
            section.diameter_mm = place.diameter_mm;
            section.diameter_sd_mm = fixed_sd_mm;
            section.ratio = place.ratio;
            section.long_axis_rad = std::atan2(place.long_axis_P.dot(section.station.n2_P),
                                               place.long_axis_P.dot(section.station.n1_P));
        }
    }

    /// Standard deviation of the depth of the end, from the errors on phantoms
    /// (docs/methods/tracing.md): the narrower the last millimetre, the less sure its course; an
    /// open end has no one place.
    static double foramen_sd(const FittedCanal& canal) {
        const double length = canal.sections.back().station.s_mm;
        double width = 1;
        for (const FittedSection& section : canal.sections) {
            if (section.station.s_mm > length - 1.5) width = std::min(width, section.diameter_mm);
        }
        constexpr double narrow_mm = 0.23, open_mm = 0.55;
        if (width > open_mm) return 0.25;
        return width > narrow_mm ? 0.065 : 0.09;
    }

    /// Ratio and direction of the ellipse. The narrower the canal the less its blurred section
    /// tells of its shape: the second moments are pulled toward a round section by what noise they
    /// carry.
    void shape(const Eigen::Matrix2d& moments, double width_sd, FittedSection& section) const {
        const double round_moment = section.diameter_mm * section.diameter_mm / 16;
        if (!std::isfinite(width_sd)) return;
        const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(moments);
        const double doubt = 0.15 * setting_.sigma_psf_mm * setting_.sigma_psf_mm +
                             2 * width_sd * setting_.sigma_psf_mm;
        const double small = std::max(axes.eigenvalues()[0], 0.0) + doubt;
        const double large = std::max(axes.eigenvalues()[1], 0.0) + doubt;
        section.ratio =
            std::clamp(std::sqrt(large / std::max(small, 0.05 * round_moment)), 1.0, 4.0);
        const Eigen::Vector2d axis = axes.eigenvectors().col(1);
        section.long_axis_rad = std::atan2(axis.y(), axis.x());
    }

    const FitInput& input_;
    SectionSetting setting_;
    std::vector<Station> stations_;
    std::vector<SectionMeasure> measures_;
    /// Of the centres that the line was last smoothed from: the whole, and the noise of their
    /// slabs.
    std::vector<double> centre_sd_, slab_sd_;
    std::vector<double>
        left_over_;  ///< their squared distance from it, per coordinate across, mm^2
    Polyline smoothed_;
    double smoothed_spacing_mm_ = station_spacing_mm;
    std::vector<double> widths_;   ///< of the last round
    std::optional<MouthCap> cap_;  ///< over the end
    bool settled_ = false;         ///< the line: what is measured now is how wide it is
};

}  // namespace

FittedCanal fit_canal(const FitInput& input) { return Fit(input).run(); }

}  // namespace anfract::tracing
