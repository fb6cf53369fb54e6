#include "possible.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "synthetic.h"

namespace anfract::tracing {
namespace {

constexpr double voxel_mm = 0.125;
constexpr double floor_mm = 5.25, chamber_radius_mm = 0.6;
constexpr double middle_mm = 1.75, sure_mm = 1.7, faint_apart_mm = 1.75;

/// A block of dentine with a chamber, a capsule that lies along x; a canal of 0.4 mm from it to the
/// lower end; and toward +x of that one a canal of 0.085 mm which shows for 2 mm only. Coordinates
/// from the block's corner, mm; z coronal.
Site block_with_faint_canal() {
    Site site;
    const GridGeometry g = synthetic::grid(42, 28, 54, voxel_mm);
    const auto inside = [&](const Vec3& p) {
        const Vec3 v = g.to_voxel(p) * voxel_mm;
        const double along = std::clamp(v.x(), sure_mm, sure_mm + faint_apart_mm);
        const bool chamber =
            (v - Vec3(along, middle_mm, floor_mm + chamber_radius_mm)).norm() < chamber_radius_mm;
        const auto tube = [&](double x, double width, double from) {
            return std::hypot(v.x() - x, v.y() - middle_mm) < width / 2 && v.z() > from &&
                   v.z() < floor_mm + 0.3;
        };
        const bool sure = tube(sure_mm, 0.4, -1);
        const bool faint = tube(sure_mm + faint_apart_mm, 0.085, floor_mm - 2.0);
        return chamber || sure || faint;
    };
    site.brick = synthetic::body_in_dentine(g, inside, 0.1);
    std::mt19937 random(3);
    std::normal_distribution<float> noise(0, 70);
    for (float& grey : site.brick.grey) grey += noise(random);
    site.levels.pulp = synthetic::pulp;
    site.levels.dentine = synthetic::dentine;
    site.levels.noise = 70;
    site.levels.noise_cell_mm3 = voxel_mm * voxel_mm * voxel_mm;
    site.levels.sigma_psf_mm = 0.11;
    site.body.solid.assign(g.voxel_count(), 1);
    site.body.depth = {g, std::vector<float>(g.voxel_count())};
    site.open.assign(g.voxel_count(), 0);
    const Vec3 far = Vec3(g.size[0] - 1, g.size[1] - 1, g.size[2] - 1) * voxel_mm;
    for (std::size_t n = 0; n < g.voxel_count(); ++n) {
        const Vec3 v = Vec3(double(n % 42), double(n / 42 % 28), double(n / (42 * 28))) * voxel_mm;
        site.body.depth.grey[n] = float(std::min(v.minCoeff(), (far - v).minCoeff()));
        site.open[n] = v.z() < floor_mm + 2 * chamber_radius_mm;
    }
    const Vec3 click = g.to_patient(Vec3(sure_mm + 0.9, middle_mm, floor_mm + 0.6) / voxel_mm);
    site.pulp = find_pulp(site.brick, site.body, site.levels, click, 1);
    site.evidence = tube_evidence(site.brick, site.body, site.pulp, site.levels, 1, Progress());
    site.calm = smooth(site.brick, 0.6 * voxel_mm, 1);
    for (std::size_t n = 0; n < site.pulp.chamber.size(); ++n) {
        if (site.pulp.chamber[n] != 0) site.chamber_voxels.push_back(n);
    }
    return site;
}

/// The tooth with the one canal that is sure: its orifice in the floor, the reference above it.
Tooth lower_left_molar(const Site& site) {
    Tooth tooth;
    tooth.fdi = "36";
    const auto place = [&](double x, double z) {
        return site.brick.geometry.to_patient(Vec3(x, middle_mm, z) / voxel_mm);
    };
    tooth.reference_P = place(sure_mm, floor_mm + 1.5);
    Canal canal;
    canal.name = "MB";
    canal.orifice_P = place(sure_mm, floor_mm);
    for (double z = floor_mm; z > 0; z -= 0.25) {
        CanalSample sample;
        sample.point_P = place(sure_mm, z);
        canal.samples.push_back(sample);
    }
    tooth.canals.push_back(canal);
    return tooth;
}

// A canal that shows over 2 mm only, at about half the height of z that noise reaches above the
// threshold, is not stated; where to look for it is.
TEST(PossibleCanal, IsSaidWithThePlaceToLookFor) {
    const Site site = block_with_faint_canal();
    const FoundCanals found = find_canals(site.search(), Progress());
    EXPECT_EQ(found.canals.size(), 1u);
    Tooth tooth = lower_left_molar(site);
    add_possible(site, found.possible, tooth);
    ASSERT_EQ(tooth.possible.size(), 1u);
    const PossibleCanal& possible = tooth.possible.front();
    EXPECT_GT(possible.presence, 0.1);
    EXPECT_LE(possible.presence, 0.5);
    EXPECT_EQ(possible.nearest_canal, "MB");
    // In the lower left of the mouth buccal is to the patient's left, +x (LPS).
    EXPECT_EQ(possible.direction, "B");
    // Within the blur of the chamber (0.25 mm) and the reach of the widest filter.
    EXPECT_NEAR(possible.from_nearest_mm, faint_apart_mm, 0.3);
    const double floor_depth_mm = std::hypot(1.5, faint_apart_mm);
    EXPECT_NEAR(possible.first_sign_depth_mm, floor_depth_mm, 0.5);
    // The block ends nearest at the side toward which the canal lies: 41 voxels from x = 0.
    EXPECT_NEAR(possible.floor_left_mm, 41 * voxel_mm - sure_mm - faint_apart_mm, 0.3);
}

}  // namespace
}  // namespace anfract::tracing
