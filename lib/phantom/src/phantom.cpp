#include "anfract/phantom/phantom.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/phantom/metal.h"
#include "anfract/phantom/phantom_file.h"
#include "anfract/phantom/random.h"
#include "anfract/phantom/scanner.h"
#include "anfract/phantom/scanner_faults.h"
#include "scene.h"
#include "tooth_solid.h"
#include "truth.h"

namespace anfract {

namespace {

// Streams of the seed; the design has number 1.
constexpr std::uint64_t pose_stream = 2;
constexpr std::uint64_t texture_stream = 3;
constexpr std::uint64_t noise_stream = 4;
constexpr std::uint64_t fault_stream = 5;

constexpr double trabecula_fwhm_mm = 0.45;

Result<void> check(const PhantomOptions& o) {
    const auto within = [](double value, double low, double high) {
        return std::isfinite(value) && value >= low && value <= high;
    };
    if (!within(o.voxel_mm, 0.05, 0.5)) {
        return fail(ErrorCode::BadInput, "the voxel size is out of range", "phantom",
                    "give 0.05 to 0.5 mm");
    }
    if (!within(o.psf_fwhm_mm, 0, 2)) {
        return fail(ErrorCode::BadInput, "the width of the point spread is out of range", "phantom",
                    "give 0 to 2 mm");
    }
    if (!within(o.noise, 0, 1000) || !within(o.noise_fwhm_mm, 0, 2)) {
        return fail(ErrorCode::BadInput, "the noise is out of range", "phantom",
                    "give 0 to 1000 grey values and a correlation of 0 to 2 mm");
    }
    if (!within(o.tilt_max_deg, 0, 45)) {
        return fail(ErrorCode::BadInput, "the tilt is out of range", "phantom",
                    "give 0 to 45 degrees");
    }
    if (!within(o.grey_scale, 0.2, 5) || !within(o.grey_offset, -2000, 2000)) {
        return fail(ErrorCode::BadInput, "the grey scale is out of range", "phantom",
                    "give a scale of 0.2 to 5 and an offset of -2000 to 2000");
    }
    if (o.field_mm != 0 && !within(o.field_mm, 5, 200)) {
        return fail(ErrorCode::BadInput, "the field of view is out of range", "phantom",
                    "give 5 to 200 mm, or 0 for the whole tooth");
    }
    if (!within(o.movement_mm, 0, 3) || !within(o.missing_arc_deg, 0, 60)) {
        return fail(ErrorCode::BadInput, "the movement or the missing arc is out of range",
                    "phantom", "give a movement of 0 to 3 mm and an arc of 0 to 60 degrees");
    }
    return {};
}

// Where a tooth stands in a head: buccal, mesial and apical for its quadrant and its place along
// the arch, then a random lean. In P x runs to the patient's left, y to the back, z up.
Pose make_pose(const std::string& fdi, const PhantomOptions& options) {
    const int quadrant = fdi[0] - '0', place = fdi[1] - '0';
    const bool left = quadrant == 2 || quadrant == 3;
    const bool upper = quadrant <= 2;
    // The arch turns from the midline to the molars; common practice, no source.
    const double arch_deg = std::array{
        0.0, 10.0, 30.0, 50.0, 68.0, 76.0, 83.0, 86.0, 90.0}[static_cast<std::size_t>(place)];
    const double arch = arch_deg * std::numbers::pi / 180;
    const double side = left ? 1 : -1;
    Mat3 standing;
    standing.col(0) = Vec3(-side * std::cos(arch), -std::sin(arch), 0);  // mesial
    standing.col(1) = Vec3(side * std::sin(arch), -std::cos(arch), 0);   // buccal
    standing.col(2) = Vec3(0, 0, upper ? 1 : -1);                        // apical

    Random random(options.seed, pose_stream);
    const double lean = random.uniform(0, options.tilt_max_deg) * std::numbers::pi / 180;
    const double toward = random.uniform(0, 2 * std::numbers::pi);
    const double turn =
        random.uniform(-options.tilt_max_deg, options.tilt_max_deg) * std::numbers::pi / 180;
    const Mat3 rotation = (Eigen::AngleAxisd(lean, Vec3(std::cos(toward), std::sin(toward), 0)) *
                           Eigen::AngleAxisd(turn, Vec3::UnitZ()))
                              .toRotationMatrix();
    Pose pose;
    pose.linear = rotation * standing;
    pose.origin_P = Vec3(side * (4 + 3.0 * place), -45 + 5.5 * place, upper ? -28 : -36) +
                    Vec3(random.uniform(-3, 3), random.uniform(-3, 3), random.uniform(-3, 3));
    return pose;
}

/// What goes wrong while the head is scanned, before blur and noise.
void add_faults(Brick& brick, const PhantomOptions& options, const Progress& progress) {
    Random random(options.seed, fault_stream);
    const double azimuth = random.uniform(0, 2 * std::numbers::pi);
    if (options.movement_mm > 0) {
        const Vec3 toward(std::cos(azimuth), std::sin(azimuth), random.uniform(-0.5, 0.5));
        add_movement(brick, options.movement_mm * toward.normalized(), random.uniform(0.2, 0.5),
                     options.threads);
    }
    if (options.missing_arc_deg > 0) {
        remove_arc(brick, options.missing_arc_deg, random.uniform(0, 180), options.threads,
                   progress);
    }
}

Volume quantised(const Brick& brick, const PhantomOptions& options, const TissueGreys& greys) {
    Volume volume;
    volume.geometry = brick.geometry;
    volume.invented = true;
    volume.voxels = Voxels(brick.grey.size());
    for (std::size_t i = 0; i < brick.grey.size(); ++i) {
        const double grey =
            std::clamp(static_cast<double>(brick.grey[i]), greys.least, greys.greatest);
        const double stored = options.grey_scale * grey + options.grey_offset;
        volume.voxels[i] =
            static_cast<std::int16_t>(std::floor(std::clamp(stored, -32768.0, 32767.0) + 0.5));
    }
    return volume;
}

}  // namespace

double Phantom::tooth_distance_mm(const Vec3& point_P) const {
    return solid->outer_mm(pose.to_tooth(point_P));
}

double Phantom::pulp_distance_mm(const Vec3& point_P) const {
    return solid->pulp_mm(pose.to_tooth(point_P));
}

bool Phantom::beside_isthmus(const Vec3& point_P) const {
    const double z = pose.to_tooth(point_P).z();
    return std::any_of(solid->isthmuses().begin(), solid->isthmuses().end(), [&](const Isthmus& s) {
        return z > s.from_z_mm() - 0.3 && z < s.to_z_mm() + 0.3;
    });
}

Result<Phantom> make_phantom(const PhantomOptions& options, const Progress& progress) {
    if (const Result<void> ok = check(options); !ok) return tl::unexpected(ok.error());
    Result<ToothDesign> design = design_tooth(options.kind, options.seed);
    if (!design) return tl::unexpected(design.error());

    progress.report(0.02, "shaping the tooth");
    Phantom phantom;
    phantom.options = options;
    phantom.design = *design;
    phantom.solid = std::make_shared<const ToothSolid>(*design);
    phantom.pose = make_pose(design->fdi, options);
    phantom.truth = true_tooth(*phantom.solid, phantom.pose, options.threads);
    phantom.reference_P = phantom.truth.reference_P;
    phantom.inside_P = phantom.pose.to_patient(design->chamber.centre_mm);

    const Beam beam;
    SceneOptions around;
    if (options.metal) around.metal_grey = beam.metal_grey();
    around.neighbours = options.neighbours;
    around.thin_bone = options.thin_bone;
    const Scene scene(*phantom.solid, phantom.pose, around);
    const GridGeometry grid = scene.frame(options.voxel_mm);
    progress.report(0.05, "growing bone");
    std::vector<float> texture;
    if (options.bone_texture) {
        texture = correlated_noise(grid.size, grid.spacing_mm, trabecula_fwhm_mm, options.seed,
                                   texture_stream, options.threads, progress);
    }
    Result<Rendering> rendering = scene.render(grid, texture, options.threads, progress);
    if (!rendering) return tl::unexpected(rendering.error());
    Brick& brick = rendering->grey;
    if (options.metal) {
        progress.report(0.7, "streaks of metal");
        add_metal_artefact(brick, rendering->metal_share, beam, options.seed, options.threads,
                           progress);
    }
    add_faults(brick, options, progress);
    progress.report(0.75, "blurring");
    blur_to_fwhm(brick, options.psf_fwhm_mm, options.threads, progress);
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
    progress.report(0.85, "adding noise");
    if (options.noise > 0) {
        const std::vector<float> noise =
            correlated_noise(grid.size, grid.spacing_mm, options.noise_fwhm_mm, options.seed,
                             noise_stream, options.threads, progress);
        const auto sigma = static_cast<float>(options.noise);
        for (std::size_t i = 0; i < noise.size(); ++i) brick.grey[i] += sigma * noise[i];
    }
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
    if (options.field_mm > 0) {
        // Centred on the chamber, as one who looks for canals would.
        brick = cut_field(brick, phantom.inside_P, options.field_mm);
    }
    phantom.volume = quantised(brick, options, scene.greys());
    phantom.volume.series_uid = phantom_uid(options, "series");
    phantom.truth.scan = ScanFacts{phantom.volume.series_uid, grid.spacing_mm,
                                   options.grey_scale * options.noise, options.psf_fwhm_mm};
    progress.report(1.0, "done");
    return phantom;
}

}  // namespace anfract
