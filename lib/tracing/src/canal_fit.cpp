#include "canal_fit.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "anfract/base/parallel.h"
#include "anfract/geometry/curve_derivatives.h"
#include "beside.h"
#include "canal_widths.h"
#include "isthmus.h"
#include "series.h"
#include "tell_apart.h"

namespace anfract::tracing {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double slab_mm = 0.4;
constexpr int rounds = 3;
constexpr double bend_per_mm = 0.3;            ///< prior standard deviation of curvature
constexpr double line_error_over_noise = 1.2;  ///< of phantoms, as their curvatures show
constexpr double settled_line_sd_mm = 0.05;    ///< of a line that was fitted
constexpr double unmeasured_sd_mm = 0.25;      ///< of the path itself
constexpr double flare_mm = 1.0;               ///< of the line that the chamber bends
constexpr double flare_sd_mm = 1.0;            ///< of centres there: next to no weight
constexpr double rim_sigma = 1.6;              ///< of the point spread under the surface: no one's
constexpr double ground_sigma = 2.5;           ///< and less: the outside's blur still shows
constexpr double one_lumen_sigma = 1.6;        ///< between lines: they run in one
constexpr double on_other_sd_mm = 0.02;        ///< of places on the line of another canal
constexpr double chamber_sigma = 3;            ///< of the point spread: the chamber's blur shows
constexpr double centre_model_sd_mm = 0.03;    ///< of a centre, beside its noise
constexpr double usual_mouth_mm = 0.4, widest_mouth_mm = 1.4;

double half_size_mm(const SectionMeasure& last) {
    const double wide = std::sqrt(std::max(last.area_mm2, 0.0) / std::numbers::pi);
    return std::clamp(2.2 * wide + 0.8, 0.95, 2.4);
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
        for (std::size_t n = 0; settled_ && n < stations_.size(); ++n) {
            if (holds_chamber(stations_[n])) measures_[n].valid = false;
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
        std::vector<FittedSection> others = near_sections(input_.others, stations_[n].point_P);
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
        measure.crowd_sd_mm = crowd_sd_mm(station.point_P, own_width(n), others);
        const Vec3 shift = station.point_P - stations_[n].point_P;
        measure.x_mm += shift.dot(station.n1_P);
        measure.y_mm += shift.dot(station.n2_P);
        // Where it meets the surface, the section is not its own.
        if (placeless || depth_at(station.point_P) < least_depth_mm(measure)) measure.valid = false;
        return measure;
    }

    /// Whether the slab, with its blur, holds some of the chamber that the canal comes from: how
    /// wide the canal is there is read off its course further down.
    bool holds_chamber(const Station& station) const {
        return input_.starts_in_chamber &&
               station.s_mm < slab_mm / 2 + chamber_sigma * setting_.sigma_psf_mm;
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
        return {share_beside(p, own_P, own_width_mm, others, setting_.sigma_psf_mm), ground};
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

    /// Centres to smooth the line from, and how sure each is; `slab_sd` is the part of it that is
    /// noise.
    struct Centres {
        std::vector<Vec3> points;
        std::vector<double> sd, slab_sd;
    };

    Centres measured_centres() const {
        Centres centres;
        for (std::size_t n = 0; n < stations_.size(); ++n) {
            const SectionMeasure& m = measures_[n];
            // The path may run along one side of a broad canal.
            const double furthest = std::max(0.45, 0.9 * widths_[n]);
            const bool good = m.valid && std::isfinite(m.centre_sd_mm) &&
                              m.area_mm2 > 1.5 * m.area_sd_mm2 &&
                              std::hypot(m.x_mm, m.y_mm) < furthest;
            centres.points.push_back(good ? stations_[n].at(m.x_mm, m.y_mm) : stations_[n].point_P);
            centres.sd.push_back(good
                                     ? std::hypot(m.centre_sd_mm, centre_model_sd_mm, m.crowd_sd_mm)
                                     : unmeasured_sd_mm);
            centres.slab_sd.push_back(good ? m.centre_sd_mm : 0.0);
        }
        if (input_.starts_in_chamber) doubt_flare(centres.sd);
        if (input_.before) {
            centres.points.front() = input_.before->points().front();
            centres.sd.front() = on_other_sd_mm;
        }
        if (input_.onward) centres.points.back() = input_.onward->points().front();
        if (!input_.ends_at_surface) centres.sd.back() = on_other_sd_mm;
        hold_fixed(centres.points, centres.sd);
        return centres;
    }

    /// Places along a line at that spacing, but for its beginning.
    static std::vector<Vec3> steps_along(const std::optional<Polyline>& line, double spacing_mm) {
        constexpr double reach_mm = 2;
        std::vector<Vec3> places;
        if (!line) return places;
        for (double s = spacing_mm; s < std::min(reach_mm, line->length_mm()); s += spacing_mm)
            places.push_back(line->at(s));
        return places;
    }

    /// Adds the places of the canals that it comes from and runs into: it leaves and meets them
    /// without a kink.
    void lead_on(double spacing_mm, Centres& centres) {
        const std::vector<Vec3> before = steps_along(input_.before, spacing_mm);
        const std::vector<Vec3> onward = steps_along(input_.onward, spacing_mm);
        lead_ = before.size();
        centres.points.insert(centres.points.begin(), before.rbegin(), before.rend());
        centres.points.insert(centres.points.end(), onward.begin(), onward.end());
        centres.sd.insert(centres.sd.begin(), lead_, on_other_sd_mm);
        centres.sd.resize(centres.points.size(), on_other_sd_mm);
        centres.slab_sd.insert(centres.slab_sd.begin(), lead_, 0.0);
        centres.slab_sd.resize(centres.points.size(), 0.0);
    }

    Polyline recentred(const Polyline& line) {
        const std::size_t own_count = stations_.size();
        Centres centres = measured_centres();
        const double h = smoothed_spacing_mm_ = line.length_mm() / double(own_count - 1);
        lead_on(h, centres);
        const std::size_t count = centres.points.size();
        std::vector<Vec3> fitted(count);
        for (int axis = 0; axis < 3; ++axis) {
            std::vector<double> y(count);
            for (std::size_t n = 0; n < count; ++n) y[n] = centres.points[n][axis];
            const Series series = smooth_series(y, centres.sd, h, 1.0, bend_per_mm);
            for (std::size_t n = 0; n < count; ++n) fitted[n][axis] = series.value[n];
        }
        left_over_.clear();
        for (std::size_t n = 0; n < count; ++n)
            left_over_.push_back((centres.points[n] - fitted[n]).squaredNorm() / 2);
        centre_sd_ = std::move(centres.sd);
        slab_sd_ = std::move(centres.slab_sd);
        smoothed_ = Polyline(fitted);
        const auto own = fitted.begin() + std::ptrdiff_t(lead_);
        return Polyline(std::vector<Vec3>(own, own + std::ptrdiff_t(own_count)));
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

    FittedCanal finished() const {
        const double h = stations_.size() > 1 ? stations_[1].s_mm : station_spacing_mm;
        std::vector<DrawnWidth> drawn;
        for (const FixedPlace& place : input_.fixed) {
            if (place.diameter_mm > 0)
                drawn.push_back({station_at(place.point_P), place.diameter_mm});
        }
        const std::vector<SectionShape> shapes = smooth_widths(measures_, drawn, h, setting_);
        const SeriesError centre = centre_error();
        FittedCanal canal;
        canal.centre_correlation_mm = centre.correlation_mm;
        for (std::size_t n = 0; n < stations_.size(); ++n) {
            FittedSection section;
            section.station = stations_[n];
            section.diameter_mm = shapes[n].diameter_mm;
            section.diameter_sd_mm = shapes[n].diameter_sd_mm;
            section.ratio = shapes[n].ratio;
            section.long_axis_rad = shapes[n].long_axis_rad;
            const auto smoothed =
                std::size_t(std::lround(stations_[n].s_mm / smoothed_spacing_mm_));
            section.centre_sd_mm =
                line_error_over_noise * centre.sd[std::min(lead_ + smoothed, centre.sd.size() - 1)];
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
    std::size_t lead_ = 0;  ///< places of another canal before its own that it was smoothed with
    std::vector<double> widths_;   ///< of the last round
    std::optional<MouthCap> cap_;  ///< over the end
    bool settled_ = false;         ///< the line: what is measured now is how wide it is
};

}  // namespace

FittedCanal fit_canal(const FitInput& input) { return Fit(input).run(); }

}  // namespace anfract::tracing
