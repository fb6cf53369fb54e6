#include "section.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "tube_model.h"

namespace anfract::tracing {
namespace {

/// Pixels within `radius` pixels of any pixel of `seed`.
std::vector<std::uint8_t> grown(const SectionImage& image, const std::vector<std::uint8_t>& seed,
                                double radius) {
    std::vector<std::uint8_t> result(seed.size(), 0);
    const int reach = static_cast<int>(radius);
    const int h = image.half;
    for (int y = -h; y <= h; ++y) {
        for (int x = -h; x <= h; ++x) {
            if (seed[image.index(x, y)] == 0) continue;
            const auto same = [&](int u, int v) {
                return std::abs(u) <= h && std::abs(v) <= h && seed[image.index(u, v)] != 0;
            };
            // A pixel amid the seed adds nothing that its neighbours do not.
            if (same(x - 1, y) && same(x + 1, y) && same(x, y - 1) && same(x, y + 1)) {
                result[image.index(x, y)] = 1;
                continue;
            }
            for (int v = std::max(-h, y - reach); v <= std::min(h, y + reach); ++v) {
                const double left = radius * radius - (v - y) * (v - y);
                const int across = static_cast<int>(std::sqrt(std::max(0.0, left)));
                for (int u = std::max(-h, x - across); u <= std::min(h, x + across); ++u) {
                    result[image.index(u, v)] = 1;
                }
            }
        }
    }
    return result;
}

/// Pixels below `level` that touch, by edges, the lowest pixel near the centre.
std::vector<std::uint8_t> low_core(const SectionImage& image, double level, int search) {
    std::vector<std::uint8_t> core(image.grey.size(), 0);
    std::size_t lowest = image.index(0, 0);
    for (int y = -search; y <= search; ++y) {
        for (int x = -search; x <= search; ++x) {
            const std::size_t n = image.index(x, y);
            if (x * x + y * y > search * search || image.share[n] < 0.5F) continue;
            if (image.grey[n] < image.grey[lowest]) lowest = n;
        }
    }
    if (image.grey[lowest] >= level || image.share[lowest] < 0.5F) return core;
    std::vector<std::size_t> stack{lowest};
    core[lowest] = 1;
    const auto side = std::size_t(image.side());
    while (!stack.empty()) {
        const std::size_t n = stack.back();
        stack.pop_back();
        const std::size_t x = n % side;
        const std::size_t y = n / side;
        const auto visit = [&](std::size_t m) {
            if (core[m] != 0 || image.share[m] < 0.5F || image.grey[m] >= level) return;
            core[m] = 1;
            stack.push_back(m);
        };
        if (x > 0) visit(n - 1);
        if (x + 1 < side) visit(n + 1);
        if (y > 0) visit(n - side);
        if (y + 1 < side) visit(n + side);
    }
    return core;
}

/// Dentine round a window: clear of the outside's blur, unless too little would be left of it.
std::vector<std::uint8_t> ring_round(const SectionImage& image,
                                     const std::vector<std::uint8_t>& window) {
    constexpr double wide_mm = 0.45, least_clear = 0.4;
    std::vector<std::uint8_t> ring = grown(image, window, wide_mm / image.pixel_mm);
    std::vector<std::uint8_t> clear(ring.size(), 0);
    int pixels = 0, clear_pixels = 0;
    for (std::size_t n = 0; n < ring.size(); ++n) {
        ring[n] = ring[n] != 0 && window[n] == 0 && image.share[n] > 0.9F;
        clear[n] = ring[n] != 0 && image.ground[n] != 0;
        pixels += ring[n];
        clear_pixels += clear[n];
    }
    return clear_pixels >= least_clear * pixels ? clear : ring;
}

/// Relative, of the part of the missing grey that goes to another canal.
constexpr double sharing_sd = 0.2;

struct Plane {
    Eigen::Vector3d coefficients{0, 0, 0};  ///< value, slope along x, along y, per pixel
    double pixels = 0;
    double at(int x, int y) const {
        return coefficients[0] + coefficients[1] * x + coefficients[2] * y;
    }
};

/// Least squares over the ring, with two rounds of trimming so that a neighbour's edge does not
/// tilt it.
Plane fit_background(const SectionImage& image, const std::vector<std::uint8_t>& ring,
                     const SectionSetting& setting) {
    Plane plane;
    plane.coefficients[0] = setting.dentine_grey;
    double width = 0.35 * (setting.dentine_grey - setting.pulp_grey);
    for (int round = 0; round < 3; ++round) {
        Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
        Eigen::Vector3d right = Eigen::Vector3d::Zero();
        double squares = 0;
        for (int y = -image.half; y <= image.half; ++y) {
            for (int x = -image.half; x <= image.half; ++x) {
                const std::size_t n = image.index(x, y);
                const double residual = image.grey[n] - plane.at(x, y);
                if (ring[n] == 0 || std::abs(residual) > width) continue;
                const Eigen::Vector3d row(1, x, y);
                normal += row * row.transpose();
                right += row * image.grey[n];
                squares += residual * residual;
            }
        }
        if (normal(0, 0) < 12) break;
        plane.pixels = normal(0, 0);
        // A weak prior of no slope: a short arc of ring cannot tell slope from level.
        normal(1, 1) += 0.2 * normal(0, 0);
        normal(2, 2) += 0.2 * normal(0, 0);
        plane.coefficients = normal.ldlt().solve(right);
        if (round > 0) width = std::max(2.5 * std::sqrt(squares / plane.pixels), 1e-6);
    }
    return plane;
}

void integrate(const SectionImage& image, const std::vector<std::uint8_t>& window,
               const Plane& plane, const SectionSetting& setting, SectionMeasure& m) {
    double sum = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0, pixels = 0, spread = 0;
    double given_away = 0;  // to neighbours and to the outside
    for (int y = -image.half; y <= image.half; ++y) {
        for (int x = -image.half; x <= image.half; ++x) {
            const std::size_t n = image.index(x, y);
            if (window[n] == 0) continue;
            const double background = plane.at(x, y);
            const double missing = (background - image.grey[n]) / (background - setting.pulp_grey);
            const double share = image.share[n] * missing;
            if (image.share[n] < 1) given_away += std::clamp(missing, 0.0, 1.0) - share;
            if (image.share[n] <= 0) continue;
            m.peak = std::max(m.peak, share);
            sum += share;
            sx += share * x;
            sy += share * y;
            sxx += share * x * x;
            sxy += share * x * y;
            syy += share * y * y;
            pixels += 1;
            spread += x * x + y * y;
        }
    }
    const double p = image.pixel_mm;
    m.background = plane.coefficients[0];
    m.area_mm2 = sum * p * p;
    const double contrast = std::max(m.background - setting.pulp_grey, 1e-6);
    const double cell = setting.noise_cell_mm3;
    const double window_mm2 = pixels * p * p;
    const double own = std::sqrt(window_mm2 * cell / setting.slab_mm);
    const double ring_mm2 = std::max(plane.pixels, 1.0) * p * p;
    const double from_ring = window_mm2 * std::sqrt(cell / setting.slab_mm / ring_mm2);
    // What is shared with a neighbour is only as sure as the neighbour's own place and width; what
    // lies outside the tooth takes no part of the canal with it that is larger than the canal.
    const double doubtful = sharing_sd * std::max(0.0, std::min(given_away * p * p, m.area_mm2));
    m.shared_sd_mm2 = doubtful;
    m.area_sd_mm2 = setting.noise / contrast * std::hypot(own, from_ring);
    m.valid = pixels > 0;
    if (sum * p * p < 1e-4) {
        m.centre_sd_mm = std::numeric_limits<double>::infinity();
        return;
    }
    m.x_mm = sx / sum * p;
    m.y_mm = sy / sum * p;
    m.centre_sd_mm = setting.noise / contrast *
                     std::sqrt(spread / 2 * std::pow(p, 4) * cell / setting.slab_mm) / m.area_mm2;
    const double blur = setting.sigma_psf_mm * setting.sigma_psf_mm +
                        setting.voxel_mm * setting.voxel_mm / 6;  // interpolation, on average
    m.moment_xx_mm2 = sxx / sum * p * p - m.x_mm * m.x_mm - blur;
    m.moment_yy_mm2 = syy / sum * p * p - m.y_mm * m.y_mm - blur;
    m.moment_xy_mm2 = sxy / sum * p * p - m.x_mm * m.y_mm;
}

/// Up to this long diameter the area comes from the forward model alone, from the second on from
/// the integral alone: what is wide need not be an ellipse, and its tail is no part of it worth
/// naming.
constexpr double modelled_to_mm = 0.6, integrated_from_mm = 0.9;

/// An ellipse of the measured area and moments. The moments of a narrow section are mostly noise,
/// and pull it only so far from a round one; its centroid counts as far as it is surer than the
/// line.
TubeModel model_of(const SectionMeasure& m, const SectionSetting& setting) {
    TubeModel model;
    const double trust = std::isfinite(m.centre_sd_mm)
                             ? 1 / (1 + std::pow(m.centre_sd_mm / setting.place_sd_mm, 2))
                             : 0.0;
    model.centre_mm = trust * Vec2(m.x_mm, m.y_mm);
    model.area_mm2 = std::max(m.area_mm2, 0.0);
    model.sigma_mm = std::hypot(setting.sigma_psf_mm, setting.voxel_mm / std::sqrt(6.0));
    Eigen::Matrix2d moments;
    moments << m.moment_xx_mm2, m.moment_xy_mm2, m.moment_xy_mm2, m.moment_yy_mm2;
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(trust * moments);
    const double doubt = 0.5 * setting.sigma_psf_mm * setting.sigma_psf_mm;
    const double small = std::max(axes.eigenvalues()[0], 0.0) + doubt;
    const double large = std::max(axes.eigenvalues()[1], 0.0) + doubt;
    model.ratio = std::clamp(std::sqrt(large / small), 1.0, 4.0);
    const Eigen::Vector2d axis = axes.eigenvectors().col(1);
    model.long_axis_rad = std::atan2(axis.y(), axis.x());
    return model;
}

/// Betters the area by the forward model, as far as the section is narrow.
void fit_forward(const SectionImage& image, const std::vector<std::uint8_t>& window,
                 const std::vector<std::uint8_t>& ring, const Plane& plane,
                 const SectionSetting& setting, SectionMeasure& m) {
    const TubeModel model = model_of(m, setting);
    const double trust = std::clamp(
        (integrated_from_mm - model.long_diameter_mm()) / (integrated_from_mm - modelled_to_mm),
        0.0, 1.0);
    if (trust <= 0) return;
    std::vector<float> missing(image.grey.size(), 0);
    std::vector<PixelRole> roles(image.grey.size(), PixelRole::None);
    for (int y = -image.half; y <= image.half; ++y) {
        for (int x = -image.half; x <= image.half; ++x) {
            const std::size_t n = image.index(x, y);
            if (ring[n] != 0) roles[n] = PixelRole::Ring;
            if (window[n] == 0 || image.share[n] <= 0) continue;
            roles[n] = PixelRole::Window;
            const double background = plane.at(x, y);
            missing[n] = static_cast<float>(image.share[n] * (background - image.grey[n]) /
                                            (background - setting.pulp_grey));
        }
    }
    const double contrast = std::max(m.background - setting.pulp_grey, 1e-6);
    const AreaFit fit = fit_area(image, missing, roles, setting, contrast, model);
    if (fit.area_mm2 <= 0) return;
    m.area_mm2 += trust * (fit.area_mm2 - m.area_mm2);
    m.area_sd_mm2 += trust * (fit.sd_mm2 - m.area_sd_mm2);
}

}  // namespace

SectionSetting section_setting(const Brick& brick, const GreyLevels& levels, double slab_mm) {
    SectionSetting setting;
    setting.pulp_grey = levels.pulp;
    setting.dentine_grey = levels.dentine;
    setting.noise = levels.noise;
    setting.noise_cell_mm3 = levels.noise_cell_mm3;
    setting.sigma_psf_mm = levels.sigma_psf_mm;
    setting.voxel_mm = std::cbrt(brick.geometry.spacing_mm.prod());
    setting.slab_mm = slab_mm;
    return setting;
}

double noise_sigma_mm(const SectionSetting& setting) {
    const double own = std::cbrt(setting.noise_cell_mm3) / (2 * std::sqrt(std::numbers::pi));
    return std::hypot(own, setting.voxel_mm / std::sqrt(6.0));
}

SectionImage sample_section(const Brick& brick, const Station& station, double half_mm,
                            double slab_mm, const Share& share) {
    SectionImage image;
    image.pixel_mm = 0.55 * brick.geometry.spacing_mm.minCoeff();
    image.half = static_cast<int>(std::ceil(half_mm / image.pixel_mm));
    const auto count = std::size_t(image.side()) * std::size_t(image.side());
    image.grey.resize(count);
    image.share.resize(count);
    image.ground.resize(count);
    const Vec3 centre = brick.geometry.to_voxel(station.point_P);
    const auto step = [&](const Vec3& direction, double length) -> Vec3 {
        return (brick.geometry.direction.transpose() * direction * length)
            .cwiseQuotient(brick.geometry.spacing_mm);
    };
    const Vec3 along_x = step(station.n1_P, image.pixel_mm);
    const Vec3 along_y = step(station.n2_P, image.pixel_mm);
    const int layers = std::max(1, static_cast<int>(std::round(slab_mm / (1.5 * image.pixel_mm))));
    const Vec3 along_t = step(station.tangent_P, slab_mm / layers);
    for (int y = -image.half; y <= image.half; ++y) {
        for (int x = -image.half; x <= image.half; ++x) {
            const Vec3 foot = centre + x * along_x + y * along_y;
            float sum = 0;
            for (int layer = 0; layer < layers; ++layer) {
                sum += interpolate(brick, foot + (layer - (layers - 1) / 2.0) * along_t);
            }
            const std::size_t n = image.index(x, y);
            image.grey[n] = sum / static_cast<float>(layers);
            const PlaceShare here = share(station.at(x * image.pixel_mm, y * image.pixel_mm));
            image.share[n] = static_cast<float>(here.canal);
            image.ground[n] = here.ground;
        }
    }
    return image;
}

SectionMeasure measure_section(const SectionImage& image, const SectionSetting& setting) {
    const double p = image.pixel_mm;
    const double reach = 2.4 * setting.sigma_psf_mm + 0.05;
    const double level = (setting.dentine_grey + setting.pulp_grey) / 2;
    const int search = std::max(1, static_cast<int>(0.3 / p));

    std::vector<std::uint8_t> core = low_core(image, level, search);
    core[image.index(0, 0)] = 1;
    const std::vector<std::uint8_t> window = grown(image, core, reach / p);
    const std::vector<std::uint8_t> ring = ring_round(image, window);
    const Plane plane = fit_background(image, ring, setting);
    SectionMeasure measure;
    integrate(image, window, plane, setting, measure);
    if (measure.valid) fit_forward(image, window, ring, plane, setting, measure);
    measure.area_sd_mm2 = std::hypot(measure.area_sd_mm2, measure.shared_sd_mm2);
    return measure;
}

}  // namespace anfract::tracing
