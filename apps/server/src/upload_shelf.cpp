#include "upload_shelf.h"

namespace anfract::server {
namespace fs = std::filesystem;

namespace {

/// The ending tells the readers what a file is, so it is kept; nothing else of a sender's name
/// becomes part of a path.
std::string name_on_disk(const std::string& name) {
    for (const char* ending : {".zip", ".nii.gz", ".nii", ".nrrd"}) {
        if (name.ends_with(ending)) return std::string("scan") + ending;
    }
    return "scan.dcm";
}

}  // namespace

Result<WaitingUpload> UploadShelf::take(const fs::path& arrived, const std::string& name) {
    WaitingUpload upload;
    upload.id = new_id();
    upload.file = directory_.uploads() / upload.id / name_on_disk(name);
    upload.name = name;
    std::error_code error;
    fs::create_directory(upload.file.parent_path(), error);
    if (!error) fs::rename(arrived, upload.file, error);
    if (error)
        return fail(ErrorCode::Io, "the file cannot be stored (" + error.message() + ")", name,
                    "check the disk");
    const std::lock_guard lock(mutex_);
    waiting_.push_front(upload);
    while (waiting_.size() > most_waiting) {
        fs::remove_all(waiting_.back().file.parent_path(), error);
        waiting_.pop_back();
    }
    return upload;
}

std::optional<WaitingUpload> UploadShelf::find(const std::string& id) const {
    const std::lock_guard lock(mutex_);
    for (const WaitingUpload& upload : waiting_) {
        if (upload.id == id) return upload;
    }
    return std::nullopt;
}

void UploadShelf::forget(const std::string& id) {
    const std::lock_guard lock(mutex_);
    std::error_code ignored;
    fs::remove_all(directory_.uploads() / id, ignored);
    waiting_.remove_if([&](const WaitingUpload& upload) { return upload.id == id; });
}

}  // namespace anfract::server
