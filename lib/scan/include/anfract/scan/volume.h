#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "anfract/geometry/vec.h"
#include "anfract/scan/voxels.h"

namespace anfract {

/// Where the voxels of a grid lie in the patient frame P (DICOM LPS, mm).
///
/// Voxel (i, j, k) has its centre at origin_P + direction * (i sx, j sy, k sz); i runs fastest in
/// memory.
struct GridGeometry {
    std::array<int, 3> size{0, 0, 0};   ///< voxels along i, j, k
    Vec3 spacing_mm{1, 1, 1};           ///< distance of neighbours along i, j, k
    Vec3 origin_P{0, 0, 0};             ///< centre of voxel (0, 0, 0)
    Mat3 direction = Mat3::Identity();  ///< columns: unit vectors of i, j, k in P, right-handed

    std::size_t voxel_count() const {
        return std::size_t(size[0]) * std::size_t(size[1]) * std::size_t(size[2]);
    }
    std::size_t index(int i, int j, int k) const {
        return (std::size_t(k) * std::size_t(size[1]) + std::size_t(j)) * std::size_t(size[0]) +
               std::size_t(i);
    }
    /// Continuous voxel coordinates (I) of a point in P, and back.
    Vec3 to_voxel(const Vec3& point_P) const {
        return (direction.transpose() * (point_P - origin_P)).cwiseQuotient(spacing_mm);
    }
    Vec3 to_patient(const Vec3& voxel_I) const {
        return origin_P + direction * voxel_I.cwiseProduct(spacing_mm);
    }
    /// True when the point lies within half a voxel of some voxel centre.
    bool contains(const Vec3& point_P) const {
        const Vec3 v = to_voxel(point_P);
        for (int a = 0; a < 3; ++a) {
            if (v[a] < -0.5 || v[a] > size[std::size_t(a)] - 0.5) return false;
        }
        return true;
    }
};

/// A whole scan as stored: 16-bit voxels with the line that turns them into grey values.
///
/// grey = slope * stored + intercept. For CT-like scans the grey scale resembles Hounsfield units;
/// it need not be calibrated. Unsigned and floating-point sources are mapped to this form by the
/// readers.
struct Volume {
    GridGeometry geometry;
    Voxels voxels;  ///< size voxel_count()
    double slope = 1.0;
    double intercept = 0.0;
    std::string series_uid;  ///< DICOM Series Instance UID, or empty
    bool invented = false;   ///< the file says it was made by the phantom

    double grey(int i, int j, int k) const {
        return slope * voxels[geometry.index(i, j, k)] + intercept;
    }
};

/// A small region of a scan in grey values, ready to compute on.
struct Brick {
    GridGeometry geometry;
    std::vector<float> grey;  ///< size voxel_count()

    float at(int i, int j, int k) const { return grey[geometry.index(i, j, k)]; }
    float& at(int i, int j, int k) { return grey[geometry.index(i, j, k)]; }
};

/// The voxels within the axis-aligned (voxel frame) box round `centre_P` with half sizes `half_mm`
/// (mm along the patient axes, turned into the enclosing voxel box), clipped to the scan. Empty
/// when outside.
Brick crop(const Volume& volume, const Vec3& centre_P, const Vec3& half_mm);

/// Trilinear interpolation at continuous voxel coordinates, clamped to the border.
float interpolate(const Brick& brick, const Vec3& voxel_I);

}  // namespace anfract
