#include "anfract/phantom/projector.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <unsupported/Eigen/FFT>

namespace anfract {

namespace {

double angle_of(int index, int angles) { return std::numbers::pi * index / angles; }

// The line integral through pixel coordinates: the ray crosses `rows` rows, at row r at the place
// first + slope r, and `value(place, r)` interpolates there.
template <class Value>
double joseph_sum(int rows, double first, double slope, int across, const Value& value) {
    // Only rows where the ray is inside the image.
    int from = 0, to = rows;
    if (std::abs(slope) > 1e-12) {
        const double a = (-1 - first) / slope, b = (across - first) / slope;
        from = std::max(0, static_cast<int>(std::ceil(std::min(a, b))));
        to = std::min(rows, static_cast<int>(std::floor(std::max(a, b))) + 1);
    } else if (first <= -1 || first >= across) {
        return 0;
    }
    double sum = 0;
    for (int r = from; r < to; ++r) {
        const double place = first + slope * r;
        const double low = std::floor(place);
        const int i = static_cast<int>(low);
        const double share = place - low;
        if (i >= 0 && i < across) sum += (1 - share) * value(i, r);
        if (i + 1 >= 0 && i + 1 < across) sum += share * value(i + 1, r);
    }
    return sum;
}

std::vector<double> ramp_response(int length, double bin_mm) {
    // The ramp's samples in space, transformed, so that its mean is right; then the Hann window.
    std::vector<double> kernel(static_cast<std::size_t>(length), 0.0);
    kernel[0] = 1 / (4 * bin_mm * bin_mm);
    for (int n = 1; n < length / 2; n += 2) {
        const double k = -1 / (std::numbers::pi * std::numbers::pi * n * n * bin_mm * bin_mm);
        kernel[static_cast<std::size_t>(n)] = kernel[static_cast<std::size_t>(length - n)] = k;
    }
    Eigen::FFT<double> fft;
    std::vector<std::complex<double>> spectrum;
    fft.fwd(spectrum, kernel);
    std::vector<double> response(static_cast<std::size_t>(length));
    for (int i = 0; i < length; ++i) {
        const int f = std::min(i, length - i);
        const double window = 0.5 * (1 + std::cos(2 * std::numbers::pi * f / length));
        response[static_cast<std::size_t>(i)] =
            spectrum[static_cast<std::size_t>(i)].real() * window * bin_mm;
    }
    return response;
}

}  // namespace

Sinogram project(const Image& image, int angles) {
    Sinogram sinogram;
    sinogram.angles = angles;
    sinogram.bins = static_cast<int>(std::ceil(std::hypot(image.nx, image.ny))) + 2;
    sinogram.bin_mm = image.pixel_mm;
    sinogram.values.assign(
        static_cast<std::size_t>(angles) * static_cast<std::size_t>(sinogram.bins), 0.0);
    const double middle_x = 0.5 * (image.nx - 1), middle_y = 0.5 * (image.ny - 1);
    for (int a = 0; a < angles; ++a) {
        const double c = std::cos(angle_of(a, angles)), s = std::sin(angle_of(a, angles));
        double* const row = sinogram.row(a);
        for (int b = 0; b < sinogram.bins; ++b) {
            const double t = b - 0.5 * (sinogram.bins - 1);
            if (std::abs(c) > std::abs(s)) {
                // Nearly along y: at each image row y, x = (t - y s) / c.
                const double slope = -s / c;
                const double first = middle_x + (t + middle_y * s) / c;
                row[b] = image.pixel_mm / std::abs(c) *
                         joseph_sum(image.ny, first, slope, image.nx, [&](int i, int r) {
                             return static_cast<double>(image.at(i, r));
                         });
            } else {
                const double slope = -c / s;
                const double first = middle_y + (t + middle_x * c) / s;
                row[b] = image.pixel_mm / std::abs(s) *
                         joseph_sum(image.nx, first, slope, image.ny, [&](int i, int r) {
                             return static_cast<double>(image.at(r, i));
                         });
            }
        }
    }
    return sinogram;
}

Image back_project(const Sinogram& sinogram, int nx, int ny) {
    int length = 1;
    while (length < 2 * sinogram.bins) length *= 2;
    const std::vector<double> response = ramp_response(length, sinogram.bin_mm);
    Image image(nx, ny, sinogram.bin_mm);
    std::vector<double> sum(image.values.size(), 0.0);
    Eigen::FFT<double> fft;
    std::vector<double> line(static_cast<std::size_t>(length)), filtered;
    std::vector<std::complex<double>> spectrum;
    for (int a = 0; a < sinogram.angles; ++a) {
        std::fill(line.begin(), line.end(), 0.0);
        std::copy(sinogram.row(a), sinogram.row(a) + sinogram.bins, line.begin());
        fft.fwd(spectrum, line);
        for (std::size_t i = 0; i < spectrum.size(); ++i) spectrum[i] *= response[i];
        fft.inv(filtered, spectrum);
        const double c = std::cos(angle_of(a, sinogram.angles)),
                     s = std::sin(angle_of(a, sinogram.angles));
        for (int y = 0; y < ny; ++y) {
            double t = -0.5 * (nx - 1) * c + (y - 0.5 * (ny - 1)) * s + 0.5 * (sinogram.bins - 1);
            double* const out = sum.data() + static_cast<std::ptrdiff_t>(y) * nx;
            for (int x = 0; x < nx; ++x, t += c) {
                const double low = std::floor(t);
                const int i = static_cast<int>(low);
                if (i < 0 || i + 1 >= sinogram.bins) continue;
                const double share = t - low;
                out[x] += (1 - share) * filtered[static_cast<std::size_t>(i)] +
                          share * filtered[static_cast<std::size_t>(i) + 1];
            }
        }
    }
    const double scale = std::numbers::pi / sinogram.angles;
    for (std::size_t i = 0; i < sum.size(); ++i)
        image.values[i] = static_cast<float>(sum[i] * scale);
    return image;
}

}  // namespace anfract
