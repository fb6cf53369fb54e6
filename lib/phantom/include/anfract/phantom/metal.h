#pragma once

#include <cstdint>

#include "anfract/base/progress.h"
#include "anfract/phantom/projector.h"
#include "anfract/scan/volume.h"

namespace anfract {

/// A beam of two energies, 50 and 80 keV, and what it passes outside the field of view.
///
/// Water: from a published table without coherent scatter. The metal stands for a dental alloy; its
/// values and the number of photons are working values, from memory.
struct Beam {
    double weight[2] = {0.5, 0.5};            ///< shares of the photons; sum 1
    double water_per_mm[2] = {0.021, 0.018};  ///< attenuation of water
    double metal_per_mm[2] = {2.0, 0.8};
    double outside_mm = 120;  ///< water-like tissue outside the field of view on every ray
    double photons = 3e5;     ///< on each detector place without a patient

    /// Transmission as minus its logarithm, of `water_mm` of water (outside included) and metal.
    double absorption(double water_mm, double metal_mm) const;
    /// The thickness of water alone that absorbs as much: the correction for hardening that
    /// scanners make, right for tissue and wrong for metal.
    double water_equivalent_mm(double absorption) const;
    /// Water-equivalent millimetres of one millimetre of very thin metal behind the outside tissue.
    double thin_metal_ratio() const;
    /// The grey value (Hounsfield) that the metal would have without any artefact.
    double metal_grey() const { return 1000 * (thin_metal_ratio() - 1); }
};

/// What beam hardening and lack of photons behind metal add to one slice, in grey values: the
/// reconstruction of (measured - ideal) line integrals. Zero when there is no metal.
///
/// @param tissue  1 + grey/1000, without the metal, >= 0
/// @param metal   share of metal in each pixel, 0 to 1
Image metal_artefact(const Image& tissue, const Image& metal, const Beam& beam, std::uint64_t seed,
                     std::uint64_t stream);

/// Adds the artefact to every slice (plane of i and j) of a brick of grey values.
///
/// @param metal_share  share of metal in each voxel of the brick
void add_metal_artefact(Brick& brick, const std::vector<float>& metal_share, const Beam& beam,
                        std::uint64_t seed, unsigned threads, const Progress& progress);

}  // namespace anfract
