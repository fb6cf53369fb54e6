// Any bytes as a scan: DICOM with one frame or many, zip, NIfTI or NRRD, by what they begin with.
//
// What runs here runs in the reading process in the program; the jail is left out, so that a crash
// reaches the sanitizers.
#include <fcntl.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string_view>

#include "parse_scan.h"
#include "unzip.h"

namespace {

namespace fs = std::filesystem;

class CountingSink : public anfract::UnzipSink {
  public:
    void begin(std::size_t, const std::string& name) override { bytes_ += name.size(); }
    void bytes(std::string_view part) override { bytes_ += part.size(); }

  private:
    std::size_t bytes_ = 0;
};

/// A folder for the inputs, in memory if the environment says so, gone when the program ends.
class InputFolder {
  public:
    InputFolder() {
        std::string name = (fs::temp_directory_path() / "anfract-fuzz-XXXXXX").string();
        if (::mkdtemp(name.data()) == nullptr) std::abort();
        path_ = name;
    }
    InputFolder(const InputFolder&) = delete;
    InputFolder& operator=(const InputFolder&) = delete;
    ~InputFolder() { fs::remove_all(path_); }
    const fs::path& path() const { return path_; }

  private:
    fs::path path_;
};

std::string name_for(std::string_view bytes) {
    if (bytes.starts_with("NRRD")) return "scan.nrrd";
    if (bytes.starts_with("PK\x03\x04")) return "scan.zip";
    if (bytes.starts_with("\x1F\x8B")) return "scan.nii.gz";
    if (bytes.size() >= 348 && bytes.substr(344, 2) == "n+") return "scan.nii";
    return "scan.dcm";
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const InputFolder folder;
    static const bool prepared = (anfract::prepare_parsers(), true);
    (void)prepared;
    const std::string_view bytes(reinterpret_cast<const char*>(data), size);
    const fs::path path = folder.path() / name_for(bytes);
    std::ofstream(path, std::ios::binary).write(bytes.data(), std::streamsize(bytes.size()));
    anfract::ReaderRequest request;
    request.files = {path};
    request.where = path.string();
    request.threads = 1;
    request.voxel_limit = std::size_t{1} << 20;
    const anfract::Progress progress;
    if (path.extension() == ".zip") {
        CountingSink sink;
        (void)anfract::unzip(path, sink, progress);
    } else {
        const int memory = ::memfd_create("voxels", MFD_CLOEXEC);
        // Running out of memory is an answer of the reading process; libFuzzer has a limit of its
        // own.
        try {
            const auto parsed = anfract::parse_scan(request, memory, progress);
            if (parsed && !anfract::unpack_parsed(anfract::pack_parsed(parsed), request))
                std::abort();
            (void)anfract::parse_listing(request, progress);
        } catch (const std::bad_alloc&) {
        }
        ::close(memory);
    }
    fs::remove(path);
    return 0;
}
