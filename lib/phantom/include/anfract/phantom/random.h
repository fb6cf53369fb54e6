#pragma once

#include <algorithm>
#include <cstdint>
#include <random>

namespace anfract {

/// Random numbers that are the same on every machine and compiler.
///
/// The engine is std::mt19937_64, whose output the C++ standard fixes; the distributions of the
/// standard library are not fixed, so they are ours. `stream` separates uses of one seed, so that
/// adding draws to one part of a phantom does not change another part.
class Random {
  public:
    Random(std::uint64_t seed, std::uint64_t stream)
        : engine_(mixed(mixed(seed) ^ mixed(stream + 1))) {}

    std::uint64_t bits() { return engine_(); }

    /// Uniform in [0, 1): the upper 53 bits.
    double uniform() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
    double uniform(double low, double high) { return low + (high - low) * uniform(); }

    /// Mean 0, variance 1: the sum of eight 16-bit uniform parts, centred and scaled. It needs only
    /// integer sums, so it cannot differ in the last bit between mathematical libraries; its excess
    /// kurtosis is -0.15 and it ends at 4.9. White noise filtered afterwards is normal for all
    /// practical purposes.
    double normal() {
        constexpr double mean = 8 * 32767.5;
        // The variance of a uniform integer in [0, 65535] is (65536^2 - 1) / 12.
        constexpr double inverse_sd = 1.0 / 53509.91992145008;  // 1 / sqrt(8 * (65536^2 - 1) / 12)
        std::uint64_t sum = 0;
        for (int word = 0; word < 2; ++word) {
            const std::uint64_t b = engine_();
            sum += (b & 0xffff) + ((b >> 16) & 0xffff) + ((b >> 32) & 0xffff) + (b >> 48);
        }
        return (static_cast<double>(sum) - mean) * inverse_sd;
    }

    /// mean + sd * normal(), held within `limit_sd` standard deviations: for anatomy that must stay
    /// possible.
    double around(double mean, double sd, double limit_sd = 1.5) {
        return mean + sd * std::clamp(normal(), -limit_sd, limit_sd);
    }

  private:
    // SplitMix64's output step: neighbouring seeds give unrelated states. [Steele2014]
    static std::uint64_t mixed(std::uint64_t x) {
        x += 0x9e3779b97f4a7c15ULL;
        x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ULL;
        x = (x ^ (x >> 27)) * 0x94d049bb133111ebULL;
        return x ^ (x >> 31);
    }

    std::mt19937_64 engine_;
};

}  // namespace anfract
