#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dcdict.h>

#include <algorithm>
#include <exception>
#include <mutex>
#include <new>
#include <system_error>

#include "packed.h"
#include "parse_scan.h"
#include "reader_channel.h"
#include "unzip.h"

namespace anfract {
namespace {

class SendingSink : public UnzipSink {
  public:
    explicit SendingSink(int call) : call_(call) {}
    void begin(std::size_t folder, const std::string& name) override {
        send_message(call_, MessageKind::File, (Packer() << std::uint64_t{folder} << name).bytes());
    }
    void bytes(std::string_view part) override { send_message(call_, MessageKind::Bytes, part); }

  private:
    const int call_;
};

std::string answer(const ReaderRequest& request, int call, int memory_file,
                   const Progress& progress) {
    switch (request.task) {
        case ReaderRequest::Task::Open:
            return pack_parsed(parse_scan(request, memory_file, progress));
        case ReaderRequest::Task::List:
            return pack_listing(parse_listing(request, progress));
        case ReaderRequest::Task::Unpack:
            break;
    }
    SendingSink sink(call);
    const auto done = unzip(request.files.at(0), sink, progress);
    if (!done) return pack_listing(tl::unexpected(done.error()));
    return pack_listing(std::vector<SeriesInfo>{});
}

}  // namespace

void serve_request(int call, int memory_file) {
    MessageKind kind{};
    std::string bytes;
    if (!receive_message(call, kind, bytes)) return;
    const auto request = unpack_request(bytes);
    if (!request) return;
    std::mutex one_at_a_time;
    const Progress progress([&](double fraction, std::string_view stage) {
        const std::lock_guard lock(one_at_a_time);
        send_message(call, MessageKind::Progress, (Packer() << fraction << stage).bytes());
    });
    const auto no_memory = [&] {
        return pack_listing(fail(ErrorCode::Io, "there is not enough memory for the scan",
                                 request->where,
                                 "close other programs or export a smaller region"));
    };
    std::string reply;
    try {
        reply = answer(*request, call, memory_file, progress);
    } catch (const std::bad_alloc&) {
        reply = no_memory();
    } catch (const std::system_error&) {  // no room for the stack of a thread
        reply = no_memory();
    } catch (const std::exception&) {
        reply = pack_listing(
            fail(ErrorCode::BadInput, "it is damaged", request->where, "export the scan again"));
    }
    send_message(call, MessageKind::Reply, reply);
}

void prepare_parsers() {
    prepare_dcmtk();
    // The dictionary is loaded when it is first asked for.
    dcmDataDict.rdlock();
    dcmDataDict.rdunlock();
}

}  // namespace anfract
