#include "anfract/phantom/metal.h"

#include <algorithm>
#include <cmath>

#include "anfract/base/parallel.h"
#include "anfract/phantom/random.h"

namespace anfract {

namespace {

constexpr std::uint64_t photon_stream = 5;
constexpr int projection_angles = 240;  // more than pi/2 times the pixels across a field of view

}  // namespace

double Beam::absorption(double water_mm, double metal_mm) const {
    double transmitted = 0;
    for (int e = 0; e < 2; ++e) {
        transmitted +=
            weight[e] * std::exp(-water_per_mm[e] * water_mm - metal_per_mm[e] * metal_mm);
    }
    return -std::log(transmitted);
}

double Beam::water_equivalent_mm(double wanted) const {
    // Newton's method; the absorption is concave in the thickness, so it converges from below.
    double water_mm = wanted / std::max(water_per_mm[0], water_per_mm[1]);
    for (int round = 0; round < 30; ++round) {
        double transmitted = 0, slope = 0;
        for (int e = 0; e < 2; ++e) {
            const double part = weight[e] * std::exp(-water_per_mm[e] * water_mm);
            transmitted += part;
            slope += part * water_per_mm[e];
        }
        const double step = (wanted + std::log(transmitted)) / (slope / transmitted);
        water_mm += step;
        if (std::abs(step) < 1e-9) break;
    }
    return water_mm;
}

double Beam::thin_metal_ratio() const {
    double metal = 0, water = 0;
    for (int e = 0; e < 2; ++e) {
        const double part = weight[e] * std::exp(-water_per_mm[e] * outside_mm);
        metal += part * metal_per_mm[e];
        water += part * water_per_mm[e];
    }
    return metal / water;
}

Image metal_artefact(const Image& tissue, const Image& metal, const Beam& beam, std::uint64_t seed,
                     std::uint64_t stream) {
    if (std::none_of(metal.values.begin(), metal.values.end(), [](float m) { return m > 0; })) {
        return Image(tissue.nx, tissue.ny, tissue.pixel_mm);
    }
    const Sinogram tissue_mm = project(tissue, projection_angles);
    Sinogram error = project(metal, projection_angles);
    const double ratio = beam.thin_metal_ratio();
    Random random(seed, (photon_stream << 32) + stream);
    for (std::size_t i = 0; i < error.values.size(); ++i) {
        const double metal_mm = error.values[i];
        // Drawn for every ray, so that the noise of a ray does not depend on the others.
        const double draw = random.normal();
        if (metal_mm <= 0) {
            error.values[i] = 0;
            continue;
        }
        const double water_mm = beam.outside_mm + tissue_mm.values[i];
        const double absorbed = beam.absorption(water_mm, metal_mm);
        const double without = beam.absorption(water_mm, 0);
        // Photon noise beyond that of the same ray without metal, which the scan's own noise stands
        // for. A detector never counts less than one photon.
        const double counts = beam.photons * std::exp(-absorbed);
        const double excess =
            std::sqrt(counts) - counts / std::sqrt(beam.photons * std::exp(-without));
        const double noisy = std::max(counts + draw * std::max(excess, 0.0), 1.0);
        const double measured_mm = beam.water_equivalent_mm(-std::log(noisy / beam.photons));
        error.values[i] = measured_mm - (water_mm + ratio * metal_mm);
    }
    Image artefact = back_project(error, tissue.nx, tissue.ny);
    for (float& value : artefact.values)
        value *= 1000.0F;  // from multiples of water to grey values
    return artefact;
}

void add_metal_artefact(Brick& brick, const std::vector<float>& metal_share, const Beam& beam,
                        std::uint64_t seed, unsigned threads, const Progress& progress) {
    const GridGeometry& grid = brick.geometry;
    const std::size_t slice =
        static_cast<std::size_t>(grid.size[0]) * static_cast<std::size_t>(grid.size[1]);
    const auto metal_grey = static_cast<float>(beam.metal_grey());
    parallel_for(static_cast<std::size_t>(grid.size[2]), threads,
                 [&](std::size_t begin, std::size_t end) {
                     for (std::size_t k = begin; k < end && !progress.cancelled(); ++k) {
                         Image tissue(grid.size[0], grid.size[1], grid.spacing_mm.x());
                         Image metal = tissue;
                         float* const grey = brick.grey.data() + k * slice;
                         for (std::size_t i = 0; i < slice; ++i) {
                             metal.values[i] = metal_share[k * slice + i];
                             const float plain = grey[i] - metal.values[i] * metal_grey;
                             tissue.values[i] = std::max(1 + plain / 1000, 0.0F);
                         }
                         const Image artefact = metal_artefact(tissue, metal, beam, seed, k);
                         for (std::size_t i = 0; i < slice; ++i) grey[i] += artefact.values[i];
                     }
                 });
}

}  // namespace anfract
