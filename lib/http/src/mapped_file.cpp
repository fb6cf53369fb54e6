#include "anfract/http/mapped_file.h"

#include <boost/interprocess/file_mapping.hpp>
#include <boost/interprocess/mapped_region.hpp>

namespace anfract::http {
namespace {

namespace ipc = boost::interprocess;

class Mapped final : public MappedFile {
  public:
    explicit Mapped(const std::filesystem::path& path)
        : file_(path.c_str(), ipc::read_only), region_(file_, ipc::read_only) {}
    std::string_view bytes() const override {
        return {static_cast<const char*>(region_.get_address()), region_.get_size()};
    }

  private:
    ipc::file_mapping file_;
    ipc::mapped_region region_;
};

}  // namespace

Result<std::shared_ptr<const MappedFile>> MappedFile::take(const std::filesystem::path& path) {
    std::error_code ignored;
    try {
        auto mapped = std::make_shared<const Mapped>(path);
        std::filesystem::remove(path, ignored);
        return mapped;
    } catch (const ipc::interprocess_exception& problem) {
        std::filesystem::remove(path, ignored);
        return fail(ErrorCode::Io, std::string("cannot be read (") + problem.what() + ")",
                    path.filename().string(), "try again");
    }
}

}  // namespace anfract::http
