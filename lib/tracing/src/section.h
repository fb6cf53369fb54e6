#pragma once

#include <functional>
#include <limits>
#include <vector>

#include "field.h"
#include "levels.h"
#include "station.h"

namespace anfract::tracing {

/// Grey values in the plane normal to a centreline, averaged over a slab about it.
struct SectionImage {
    int half = 0;  ///< pixels from -half to half along n1 and n2
    double pixel_mm = 0;
    std::vector<float> grey;
    std::vector<float> share;  ///< of what is missing that is this canal's; 0 outside the tooth
    std::vector<std::uint8_t> ground;  ///< 1 where dentine may be read, clear of the outside's blur

    int side() const { return 2 * half + 1; }
    std::size_t index(int x, int y) const {
        return std::size_t(y + half) * std::size_t(side()) + std::size_t(x + half);
    }
};

/// How much of what is missing at a place is this canal's, 0 to 1, and whether dentine may be read
/// there: where the outside's blur reaches it is darker than it is.
struct PlaceShare {
    double canal = 1;
    bool ground = true;

    PlaceShare(double canals, bool is_ground = true) : canal(canals), ground(is_ground) {}
};
using Share = std::function<PlaceShare(const Vec3& point_P)>;

SectionImage sample_section(const Brick& brick, const Station& station, double half_mm,
                            double slab_mm, const Share& share);

/// What is known when a section is measured.
struct SectionSetting {
    double pulp_grey = 0;
    double dentine_grey = 0;
    double noise = 0;           ///< standard deviation per voxel
    double noise_cell_mm3 = 0;  ///< volume over which it hangs together
    double sigma_psf_mm = 0;    ///< of the Gaussian point spread, voxel box included
    double voxel_mm = 0;        ///< edge of a cube of the voxel's volume
    double slab_mm = 0;
    double place_sd_mm =
        std::numeric_limits<double>::infinity();  ///< of the canal from the
                                                  ///< section's middle, each way: of a faint one
                                                  ///< the line says more than the centroid
};

SectionSetting section_setting(const Brick& brick, const GreyLevels& levels, double slab_mm);

/// Standard deviation of the Gaussian that white noise was smoothed with, interpolation included.
double noise_sigma_mm(const SectionSetting& setting);

/// The canal's section from the integrated deficit: the share of dentine that is missing in each
/// pixel, (background - grey) / (background - pulp), summed. Its integral is the canal's area
/// whatever the blur; its second moments less those of the point spread give the ellipse.
struct SectionMeasure {
    bool valid = false;
    double area_mm2 = 0;
    double area_sd_mm2 = 0;
    double shared_sd_mm2 = 0;  ///< part of it, from what was shared out with neighbours
    double x_mm = 0;           ///< centroid
    double y_mm = 0;
    double centre_sd_mm = 0;   ///< infinite where no more is missing than noise
    double crowd_sd_mm = 0;    ///< of it too, from canals beside this one
    double moment_xx_mm2 = 0;  ///< per area, about the centroid, point spread taken out
    double moment_xy_mm2 = 0;
    double moment_yy_mm2 = 0;
    double background = 0;
    double peak = 0;  ///< greatest share missing
};
SectionMeasure measure_section(const SectionImage& image, const SectionSetting& setting);

}  // namespace anfract::tracing
