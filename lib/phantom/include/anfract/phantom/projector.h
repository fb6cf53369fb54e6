#pragma once

#include <vector>

namespace anfract {

/// A square-pixel image; x runs fastest. Pixel (ix, iy) has its centre at ((ix - (nx-1)/2) h, (iy -
/// (ny-1)/2) h).
struct Image {
    int nx = 0, ny = 0;
    double pixel_mm = 1;
    std::vector<float> values;

    Image() = default;
    Image(int width, int height, double pixel)
        : nx(width),
          ny(height),
          pixel_mm(pixel),
          values(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), 0.0F) {}
    float& at(int ix, int iy) {
        return values[static_cast<std::size_t>(iy) * static_cast<std::size_t>(nx) +
                      static_cast<std::size_t>(ix)];
    }
    float at(int ix, int iy) const {
        return values[static_cast<std::size_t>(iy) * static_cast<std::size_t>(nx) +
                      static_cast<std::size_t>(ix)];
    }
};

/// Line integrals in a parallel beam: `angles` directions evenly over half a turn, `bins` detector
/// places one pixel apart and centred; the bin runs fastest.
///
/// Bin b at angle a measures the line x cos a + y sin a = (b - (bins-1)/2) h.
struct Sinogram {
    int angles = 0, bins = 0;
    double bin_mm = 1;
    std::vector<double> values;  ///< mm times the image's unit

    double* row(int angle) { return values.data() + static_cast<std::ptrdiff_t>(angle) * bins; }
    const double* row(int angle) const {
        return values.data() + static_cast<std::ptrdiff_t>(angle) * bins;
    }
};

/// Forward projection by Joseph's method: along the image axis that the ray follows most closely
/// one sample a row, interpolated linearly across it [Joseph1982]. The bins cover the image's
/// diagonal.
Sinogram project(const Image& image, int angles);

/// Filtered back-projection with the band-limited ramp [KakSlaney1988, Eq. 3.61] under a Hann
/// window: an image of the given size whose unit is that of the projected image. Accuracy: a
/// uniform disc returns its value within 1 % away from its edge (Projector tests).
Image back_project(const Sinogram& sinogram, int nx, int ny);

}  // namespace anfract
