// From a folder of DICOM files and one click to the text of a tooth file: the same molar in scans
// of 220 and of 400 voxels a side. The cost should grow with the tooth and not with the scan. The
// result is checked before it is timed.

#include <benchmark/benchmark.h>

#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "anfract/phantom/phantom_file.h"
#include "anfract/scan/read_scan.h"
#include "anfract/tooth/tooth_file.h"
#include "anfract/tracing/trace.h"
#include "compare.h"

namespace {

namespace fs = std::filesystem;
using namespace anfract;

const Phantom& molar() {
    static const Phantom made = [] {
        PhantomOptions options;
        options.kind = "upper-molar";  // four canals
        return *make_phantom(options, Progress());
    }();
    return made;
}

/// The molar's scan in the middle of a cube of soft tissue.
Phantom in_cube(int side) {
    Phantom phantom = molar();
    const GridGeometry from = phantom.volume.geometry;
    GridGeometry& to = phantom.volume.geometry;
    to.size = {side, side, side};
    std::array<int, 3> shift{};
    for (std::size_t a = 0; a < 3; ++a) shift[a] = (side - from.size[a]) / 2;
    to.origin_P = from.to_patient(-Vec3(shift[0], shift[1], shift[2]));
    const auto soft = molar().volume.voxels[0];
    Voxels voxels(to.voxel_count());
    for (std::size_t n = 0; n < to.voxel_count(); ++n) voxels[n] = soft;
    for (int k = 0; k < from.size[2]; ++k) {
        for (int j = 0; j < from.size[1]; ++j) {
            for (int i = 0; i < from.size[0]; ++i) {
                voxels[to.index(i + shift[0], j + shift[1], k + shift[2])] =
                    molar().volume.voxels[from.index(i, j, k)];
            }
        }
    }
    phantom.volume.voxels = std::move(voxels);
    return phantom;
}

/// Series by side, gone when the program ends.
class SeriesOnDisk {
  public:
    SeriesOnDisk() {
        std::string name = (fs::temp_directory_path() / "anfract-bench-XXXXXX").string();
        if (::mkdtemp(name.data()) == nullptr) std::abort();
        folder_ = name;
    }
    ~SeriesOnDisk() { fs::remove_all(folder_); }
    SeriesOnDisk(const SeriesOnDisk&) = delete;
    SeriesOnDisk& operator=(const SeriesOnDisk&) = delete;

    fs::path of(int side) {
        const fs::path folder = folder_ / std::to_string(side);
        if (fs::exists(folder)) return folder;
        fs::create_directory(folder);
        if (!write_dicom_series(in_cube(side), folder, Progress())) std::abort();
        return folder;
    }

  private:
    fs::path folder_;
};

Result<Tooth> tooth_in(const fs::path& folder) {
    const Result<Volume> volume = read_scan(folder, {}, Progress());
    if (!volume) return tl::unexpected(volume.error());
    TraceRequest request;
    request.inside_P = molar().inside_P;
    request.reference_P = molar().reference_P;
    request.fdi = molar().truth.fdi;
    return trace(*volume, request, Progress());
}

void ScanToTooth(benchmark::State& state) {
    static SeriesOnDisk series;
    const fs::path folder = series.of(int(state.range(0)));
    const Result<Tooth> first = tooth_in(folder);
    if (!first) return state.SkipWithError(first.error().sentence().c_str());
    const truth::ToothError error = truth::compare(*first, molar());
    for (const truth::CanalError& canal : error.canals) {
        if (!canal.found() || canal.line_rms_mm > 0.2)
            return state.SkipWithError("a canal is not right");
    }
    for (auto _ : state) benchmark::DoNotOptimize(tooth_to_json(*tooth_in(folder)).dump());
    state.counters["canals"] = double(first->canals.size());
}
BENCHMARK(ScanToTooth)
    ->Arg(220)
    ->Arg(400)
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime()
    ->UseRealTime();

}  // namespace

BENCHMARK_MAIN();
