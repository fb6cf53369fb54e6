// How long a scan of 400 files takes to open, against reading the bytes of the same files with
// read().
//
// The series is written once into a temporary folder by repeating one small header, so that the
// benchmark needs no DICOM writer. The result is checked voxel by voxel before it is timed.
#include <benchmark/benchmark.h>
#include <fcntl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "anfract/scan/read_scan.h"

namespace {

namespace fs = std::filesystem;

constexpr int side = 400;

/// One element in Explicit VR Little Endian with a short length.
std::string element(int group, int number, const char* vr, std::string value) {
    if (value.size() % 2 != 0) value += vr[0] == 'U' && vr[1] == 'I' ? '\0' : ' ';
    std::string bytes;
    for (const int word : {group, number}) {
        bytes += char(word & 255);
        bytes += char(word >> 8);
    }
    bytes += vr;
    bytes += char(value.size() & 255);
    bytes += char(value.size() >> 8);
    return bytes + value;
}

std::string word(int value) { return {char(value & 255), char(value >> 8)}; }

std::string header(int slice) {
    std::string meta = element(0x0002, 0x0010, "UI", "1.2.840.10008.1.2.1");
    std::string length(4, '\0');
    length[0] = char(meta.size());
    std::string bytes(128, '\0');
    bytes += "DICM" + element(0x0002, 0x0000, "UL", length) + meta;
    bytes += element(0x0008, 0x0018, "UI", "1.2.826.0.1.3680043.9.7." + std::to_string(slice + 1));
    bytes += element(0x0020, 0x000E, "UI", "1.2.826.0.1.3680043.9.7");
    bytes += element(0x0020, 0x0032, "DS", "0\\0\\" + std::to_string(0.1 * slice));
    bytes += element(0x0020, 0x0037, "DS", "1\\0\\0\\0\\1\\0");
    bytes += element(0x0028, 0x0002, "US", word(1));
    bytes += element(0x0028, 0x0004, "CS", "MONOCHROME2");
    bytes += element(0x0028, 0x0010, "US", word(side));
    bytes += element(0x0028, 0x0011, "US", word(side));
    bytes += element(0x0028, 0x0030, "DS", "0.1\\0.1");
    bytes += element(0x0028, 0x0100, "US", word(16));
    bytes += element(0x0028, 0x0101, "US", word(16));
    bytes += element(0x0028, 0x0102, "US", word(15));
    bytes += element(0x0028, 0x0103, "US", word(1));
    const std::size_t pixels = std::size_t(side) * side * 2;
    bytes += std::string("\xE0\x7F\x10\x00OW\x00\x00", 8);
    for (int b = 0; b < 4; ++b) bytes += char(pixels >> (8 * b) & 255);
    return bytes;
}

std::int16_t voxel(int slice, std::size_t n) {
    return std::int16_t(slice * 37 + int(n % 1009) - 1000);
}

/// The series, gone when the program ends.
class SeriesOnDisk {
  public:
    SeriesOnDisk() {
        std::string name = (fs::temp_directory_path() / "anfract-bench-XXXXXX").string();
        if (::mkdtemp(name.data()) == nullptr) std::abort();
        folder = name;
        std::vector<std::int16_t> pixels(std::size_t(side) * side);
        for (int slice = 0; slice < side; ++slice) {
            for (std::size_t n = 0; n < pixels.size(); ++n) pixels[n] = voxel(slice, n);
            files.push_back(folder / (std::to_string(slice) + ".dcm"));
            std::ofstream(files.back(), std::ios::binary)
                << header(slice)
                << std::string_view(reinterpret_cast<const char*>(pixels.data()),
                                    pixels.size() * 2);
        }
    }
    ~SeriesOnDisk() { fs::remove_all(folder); }
    SeriesOnDisk(const SeriesOnDisk&) = delete;
    SeriesOnDisk& operator=(const SeriesOnDisk&) = delete;

    fs::path folder;
    std::vector<fs::path> files;
};

const SeriesOnDisk& series() {
    static const SeriesOnDisk made;
    return made;
}

bool is_right(const anfract::Volume& volume) {
    if (volume.geometry.size != std::array<int, 3>{side, side, side}) return false;
    const std::size_t slice_voxels = std::size_t(side) * side;
    for (int slice = 0; slice < side; ++slice) {
        for (std::size_t n = 0; n < slice_voxels; ++n) {
            if (volume.voxels[std::size_t(slice) * slice_voxels + n] != voxel(slice, n))
                return false;
        }
    }
    return true;
}

void ReadBytes(benchmark::State& state) {
    std::vector<char> buffer(std::size_t(side) * side * 2 + 4096);
    series();
    for (auto _ : state) {
        for (const fs::path& path : series().files) {
            const int fd = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
            if (::read(fd, buffer.data(), buffer.size()) <= 0) state.SkipWithError("cannot read");
            ::close(fd);
        }
        benchmark::DoNotOptimize(buffer.data());
    }
}

void OpenScan(benchmark::State& state) {
    series();
    const auto begin = std::chrono::steady_clock::now();
    const auto first = anfract::read_scan(series().folder, {}, anfract::Progress());
    const std::chrono::duration<double, std::milli> first_time =
        std::chrono::steady_clock::now() - begin;
    if (!first || !is_right(*first)) {
        state.SkipWithError("the scan was not read correctly");
        return;
    }
    for (auto _ : state) {
        const auto scan = anfract::read_scan(series().folder, {}, anfract::Progress());
        benchmark::DoNotOptimize(scan->voxels.data());
    }
    state.counters["first_ms"] = first_time.count();  // the reading process starts
    rusage usage{};
    ::getrusage(RUSAGE_SELF, &usage);
    state.counters["peak_over_scan"] = double(usage.ru_maxrss) * 1024 / (2.0 * side * side * side);
}

}  // namespace

BENCHMARK(ReadBytes)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(OpenScan)->Unit(benchmark::kMillisecond)->UseRealTime();

BENCHMARK_MAIN();
