#include "anfract/scan/read_scan.h"

#include <fcntl.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <optional>
#include <system_error>

#include "anfract/base/parallel.h"
#include "file_bytes.h"
#include "fill_volume.h"
#include "packed.h"
#include "parsed_scan.h"
#include "reader_client.h"
#include "unpacked_folder.h"

namespace anfract {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_files = 100000;

bool is_zip(const fs::path& path) {
    const FileBytes file(path);
    char head[4] = {};
    return file.good() && file.read(head, 4, 0) == 4 && head[0] == 'P' && head[1] == 'K' &&
           head[2] == 3 && head[3] == 4;
}

/// The regular files in a folder and its sub-folders, in the order of their names. Links to folders
/// are not followed, since they may lead round in a circle.
Result<std::vector<fs::path>> files_in(const fs::path& folder) {
    std::vector<fs::path> files;
    std::error_code error;
    fs::recursive_directory_iterator walk(folder, fs::directory_options::skip_permission_denied,
                                          error);
    for (; !error && walk != fs::recursive_directory_iterator(); walk.increment(error)) {
        std::error_code unreadable;
        if (walk->is_regular_file(unreadable)) files.push_back(walk->path());
        if (files.size() > most_files) {
            return fail(ErrorCode::BadInput, "the folder holds more than 100000 files",
                        folder.string(), "name the folder of the scan itself");
        }
    }
    if (error) {
        return fail(ErrorCode::Io, "the folder cannot be read (" + error.message() + ")",
                    folder.string(), "check the rights");
    }
    if (files.empty()) {
        return fail(ErrorCode::BadInput, "the folder is empty", folder.string(),
                    "name the folder that holds the scan");
    }
    std::sort(files.begin(), files.end());
    return files;
}

/// Memory that the reading process fills and that then is a volume.
class MemoryFile {
  public:
    MemoryFile() : fd_(::memfd_create("anfract-voxels", MFD_CLOEXEC | MFD_ALLOW_SEALING)) {}
    MemoryFile(const MemoryFile&) = delete;
    MemoryFile& operator=(const MemoryFile&) = delete;
    ~MemoryFile() {
        if (fd_ >= 0) ::close(fd_);
    }
    int fd() const { return fd_; }

    /// True when it holds that many voxels and no one can change or shorten it any more.
    bool seal(std::size_t count) const {
        // It is busy as long as the process that filled it, which is being ended, has it mapped.
        constexpr int most_waits = 10000;
        int result = -1;
        for (int n = 0; n < most_waits; ++n) {
            result = ::fcntl(fd_, F_ADD_SEALS, F_SEAL_SHRINK | F_SEAL_GROW | F_SEAL_WRITE);
            if (result == 0 || errno != EBUSY) break;
            ::usleep(1000);
        }
        struct stat info{};
        return result == 0 && ::fstat(fd_, &info) == 0 &&
               std::uint64_t(info.st_size) >= count * sizeof(std::int16_t);
    }

  private:
    int fd_;
};

/// What a path stands for: files to look at, perhaps unpacked from a zip.
struct Sources {
    std::optional<UnpackedFolder> unpacked;
    std::vector<fs::path> files;
    bool folder = false;
};

/// One opening of a scan, with the files it reads.
class Opening {
  public:
    Opening(const fs::path& path, const ReadOptions& options, const Progress& progress)
        : path_(path),
          options_(options),
          progress_(progress),
          limits_{.memory_bytes = options.memory_limit_bytes, .quiet_s = options.quiet_limit_s} {}

    Result<OpenedScan> scan() {
        if (auto found = find_sources(); !found) return tl::unexpected(found.error());
        const ReaderRequest request = request_for(ReaderRequest::Task::Open);
        auto reply = ask(request, memory_.fd(), nullptr);
        if (!reply) return tl::unexpected(reply.error());
        auto parsed = unpack_parsed(*reply, request);
        if (!parsed) return impossible();
        if (!*parsed) return tl::unexpected(as_named(parsed->error()));
        return finish(std::move(**parsed));
    }

    Result<std::vector<SeriesInfo>> listing() {
        if (auto found = find_sources(); !found) return tl::unexpected(found.error());
        auto reply = ask(request_for(ReaderRequest::Task::List), memory_.fd(), nullptr);
        if (!reply) return tl::unexpected(reply.error());
        auto listing = unpack_listing(*reply);
        if (!listing) return impossible();
        return std::move(*listing);
    }

  private:
    ReaderRequest request_for(ReaderRequest::Task task) const {
        return {.task = task,
                .files = sources_.files,
                .folder = sources_.folder,
                .where = path_.string(),
                .series_uid = options_.series_uid,
                .threads = options_.threads,
                .voxel_limit = options_.voxel_limit};
    }

    Result<std::string> ask(const ReaderRequest& request, int memory_file,
                            const ReaderClient::Taker& take) const {
        return scan_reader().call(pack_request(request), memory_file, path_.string(), limits_,
                                  progress_, take);
    }

    tl::unexpected<Error> impossible() const {
        return fail(ErrorCode::BadInput, "the reading process gave an impossible answer",
                    path_.string(), "the file may be made to do harm; export the scan again");
    }

    /// Names the zip rather than the temporary folder it was unpacked to.
    Error as_named(Error error) const {
        if (sources_.unpacked && error.where != path_.string())
            error.where = path_.string() + ", " + fs::path(error.where).filename().string();
        return error;
    }

    Result<OpenedScan> finish(ParsedScan parsed) const {
        Volume& volume = parsed.scan.volume;
        const std::size_t count = volume.geometry.voxel_count();
        if (parsed.in_memory_file) {
            if (!memory_.seal(count)) return impossible();
            volume.voxels = Voxels::of_memory_file(memory_.fd(), count);
            return std::move(parsed.scan);
        }
        volume.voxels = Voxels(count);
        const unsigned threads = options_.threads == 0 ? default_threads() : options_.threads;
        auto line = fill_voxels(parsed.files, {volume.geometry, std::move(parsed.slices), {}},
                                open_native_frames, threads, progress_, volume.voxels.data());
        if (!line) return tl::unexpected(as_named(line.error()));
        volume.slope = line->slope;
        volume.intercept = line->intercept;
        return std::move(parsed.scan);
    }

    Result<void> find_sources() {
        std::error_code error;
        const fs::file_status status = fs::status(path_, error);
        if (!fs::exists(status)) {
            return fail(ErrorCode::NotFound, "there is no such file or folder", path_.string(),
                        "check the name");
        }
        fs::path folder = path_;
        if (fs::is_regular_file(status)) {
            if (!FileBytes(path_).good()) {
                return fail(ErrorCode::Io, "it cannot be opened", path_.string(),
                            "check the rights");
            }
            if (!is_zip(path_)) {
                sources_.files = {path_};
                return {};
            }
            if (auto done = unpack(); !done) return done;
            folder = sources_.unpacked->path();
        } else if (!fs::is_directory(status)) {
            return fail(ErrorCode::BadInput, "it is neither a file nor a folder", path_.string(),
                        "name a scan");
        }
        auto files = files_in(folder);
        if (!files) {
            if (!sources_.unpacked) return tl::unexpected(files.error());
            return fail(ErrorCode::BadInput, "the zip holds no files", path_.string(),
                        "pack the scan again");
        }
        sources_.files = std::move(*files);
        sources_.folder = true;
        return {};
    }

    /// The reading process unpacks and sends; the files are written here.
    Result<void> unpack() {
        auto folder = UnpackedFolder::make();
        if (!folder) return tl::unexpected(folder.error());
        sources_.unpacked.emplace(std::move(*folder));
        UnpackedFolder& to = *sources_.unpacked;
        bool begun = false;
        const auto take = [&](MessageKind kind, std::string_view bytes) -> std::string {
            if (kind == MessageKind::Bytes) return begun ? to.append(bytes) : "it is damaged";
            std::uint64_t number = 0;
            std::string name;
            Unpacker from(bytes);
            from >> number >> name;
            begun = from.finished();
            return begun ? to.begin(number, name) : "it is damaged";
        };
        sources_.files = {path_};
        auto reply = ask(request_for(ReaderRequest::Task::Unpack), memory_.fd(), take);
        if (!reply) return tl::unexpected(reply.error());
        const auto done = unpack_listing(*reply);
        if (!done) return impossible();
        if (!*done) return tl::unexpected(done->error());
        return {};
    }

    const fs::path path_;
    const ReadOptions options_;
    const Progress& progress_;
    const ReaderLimits limits_;
    const MemoryFile memory_;
    Sources sources_;
};

}  // namespace

Result<OpenedScan> open_scan(const fs::path& path, const ReadOptions& options,
                             const Progress& progress) {
    progress.report(0, "looking at files");
    try {
        auto scan = Opening(path, options, progress).scan();
        if (scan) progress.report(1, "reading slices");
        return scan;
    } catch (const std::bad_alloc&) {
        return fail(ErrorCode::Io, "there is not enough memory for the scan", path.string(),
                    "close other programs or export a smaller region");
    }
}

Result<Volume> read_scan(const fs::path& path, const ReadOptions& options,
                         const Progress& progress) {
    return open_scan(path, options, progress).map([](OpenedScan&& scan) {
        return std::move(scan.volume);
    });
}

Result<std::vector<SeriesInfo>> list_series(const fs::path& path, const Progress& progress) {
    return Opening(path, {}, progress).listing();
}

}  // namespace anfract
