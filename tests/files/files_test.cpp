#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>

#include "files/read.hpp"
#include "files/write.hpp"

namespace leafwright {
namespace {

namespace fs = std::filesystem;

/// A folder of its own for each test, gone after it. Tests run inside it, so that messages hold
/// short names.
class FilesTest : public testing::Test {
 protected:
  void SetUp() override {
    before_ = fs::current_path();
    std::string form = (fs::temp_directory_path() / "leafwright-files-XXXXXX").string();
    ASSERT_NE(::mkdtemp(form.data()), nullptr);
    folder_ = form;
    fs::current_path(folder_);
  }
  void TearDown() override {
    fs::current_path(before_);
    fs::remove_all(folder_);
  }
  static void put(const std::string& path, const std::string& bytes) {
    std::ofstream(path, std::ios::binary) << bytes;
  }
  static std::string get(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::stringstream bytes;
    bytes << file.rdbuf();
    return file ? bytes.str() : "(none)";
  }
  // Every name below the folder, in order.
  static std::string names() {
    std::vector<std::string> found;
    for (const auto& entry : fs::recursive_directory_iterator(".")) {
      found.push_back(entry.path().lexically_normal().string());
    }
    std::sort(found.begin(), found.end());
    std::string out;
    for (const std::string& name : found) out += (out.empty() ? "" : " ") + name;
    return out;
  }

 private:
  fs::path before_, folder_;
};

/// The real disk, except that operation number `fails_at` (from 1) fails with `error`. A write that
/// fails has written half of its bytes before.
class FaultyFileSystem final : public FileSystem {
 public:
  FaultyFileSystem(int fails_at, int error, bool links = true)
      : fails_at_(fails_at), error_(error), links_(links) {}
  [[nodiscard]] bool failed() const { return operations_ >= fails_at_; }
  /// Which operation failed: "" where none did.
  [[nodiscard]] const std::string& what_failed() const { return what_failed_; }

  int create(const std::string& path, const std::string& like, int& handle) override {
    return fault("create") ? error_ : real_.create(path, like, handle);
  }
  int write(int handle, std::string_view bytes, std::size_t& written) override {
    if (!half_done_) {
      half_done_ = true;  // a short write is no error: the rest must follow
      return real_.write(handle, bytes.substr(0, (bytes.size() + 1) / 2), written);
    }
    return fault("write") ? error_ : real_.write(handle, bytes, written);
  }
  int sync(int handle) override { return fault("sync") ? error_ : real_.sync(handle); }
  int close(int handle) override {
    half_done_ = false;
    const int problem = real_.close(handle);
    return fault("close") ? error_ : problem;
  }
  int rename(const std::string& from, const std::string& to) override {
    return fault("rename") ? error_ : real_.rename(from, to);
  }
  int link(const std::string& from, const std::string& to) override {
    if (!links_) return EPERM;
    return fault("link") ? error_ : real_.link(from, to);
  }
  int remove(const std::string& path) override {
    return fault("remove") ? error_ : real_.remove(path);
  }
  int make_folder(const std::string& path) override {
    return fault("make_folder") ? error_ : real_.make_folder(path);
  }
  int remove_folder(const std::string& path) override { return real_.remove_folder(path); }
  int sync_folder(const std::string& path) override {
    return fault("sync_folder") ? error_ : real_.sync_folder(path);
  }
  PathKind kind(const std::string& path) override { return real_.kind(path); }

 private:
  bool fault(const char* what) {
    if (++operations_ != fails_at_) return false;
    what_failed_ = what;
    return true;
  }
  std::string what_failed_;
  int fails_at_, error_;
  bool links_;
  int operations_ = 0;
  bool half_done_ = false;
  FileSystem& real_ = real_file_system();
};

std::string told(const Result<void>& result) {
  return result ? "done" : result.error().text();
}

TEST_F(FilesTest, ReadsWhatIsThere) {
  put("a.csv", std::string("A\0\n\xFF", 4));
  EXPECT_EQ(read_file("a.csv").value(), std::string("A\0\n\xFF", 4));
}

TEST_F(FilesTest, ReadErrorsSayWhatToDo) {
  put("points.csv", "x");
  put("empty.csv", "");
  fs::create_directory("folder");
  EXPECT_EQ(read_file("point.csv").error().text(),
            "point.csv: there is no such file; did you mean 'points.csv'?");
  EXPECT_EQ(read_file("nothing/x.csv").error().text(),
            "nothing/x.csv: there is no such file; there is no folder 'nothing' either");
  EXPECT_EQ(read_file("unlike.txt").error().text(), "unlike.txt: there is no such file");
  EXPECT_EQ(read_file("folder").error().text(), "folder: this is a folder; a file");
  EXPECT_EQ(read_file("empty.csv").error().text(),
            "empty.csv: the file is empty; was its writing broken off?");
  EXPECT_EQ(read_file("empty.csv").error().code, ErrorCode::unreadable);
}

TEST_F(FilesTest, ReadingWithoutPermissionIsAnError) {
  if (::geteuid() == 0) GTEST_SKIP() << "root may read everything";
  put("secret.csv", "x");
  ::chmod("secret.csv", 0);
  EXPECT_EQ(read_file("secret.csv").error().text(),
            "secret.csv: this file may not be read; permission to read it; ask its owner, or copy "
            "it to a folder of yours");
}

TEST_F(FilesTest, WritesAndLeavesNothingElse) {
  EXPECT_EQ(told(write_file("a.csv", "hello", Existing::refuse)), "done");
  EXPECT_EQ(get("a.csv"), "hello");
  EXPECT_EQ(told(write_file("b.csv", "", Existing::refuse)), "done");
  EXPECT_EQ(names(), "a.csv b.csv");
}

TEST_F(FilesTest, RefusesToReplaceUnlessAllowed) {
  put("a.csv", "old");
  EXPECT_EQ(told(write_file("a.csv", "new", Existing::refuse)),
            "'a.csv' is there already; a name that is free; give another name, or allow it to be "
            "replaced");
  EXPECT_EQ(get("a.csv"), "old");
  EXPECT_EQ(told(write_file("a.csv", "new", Existing::replace)), "done");
  EXPECT_EQ(get("a.csv"), "new");
  EXPECT_EQ(names(), "a.csv");
}

TEST_F(FilesTest, WriteErrorsSayWhatToDo) {
  fs::create_directory("folder");
  put("file", "x");
  EXPECT_EQ(told(write_file("folder", "x", Existing::replace)),
            "'folder' is a folder; a file name");
  EXPECT_EQ(told(write_file("folder/", "x", Existing::replace)),
            "'folder/' is not the name of a file; a file name");
  EXPECT_EQ(told(write_file("file/x.csv", "x", Existing::replace)),
            "'file' is not a folder; a folder for 'file/x.csv'");
  EXPECT_EQ(told(write_file("/dev/null", "x", Existing::replace)),
            "'/dev/null' is not a plain file; a file that can be written whole or not at all");
  EXPECT_EQ(told(write_files({{"x", "1"}, {"x", "2"}}, Existing::replace)),
            "'x' would be written twice; each file once");
  FaultyFileSystem full(2, ENOSPC);
  EXPECT_EQ(told(write_file("a.csv", "hello", Existing::refuse, full)),
            "'a.csv' could not be written: No space left on device; nothing was changed; make room "
            "and try again");
  FaultyFileSystem forbidden(1, EACCES);
  EXPECT_EQ(told(write_file("a.csv", "hello", Existing::refuse, forbidden)),
            "'a.csv' could not be written: Permission denied; nothing was changed; write to a "
            "folder of yours");
  EXPECT_EQ(names(), "file folder");
}

TEST_F(FilesTest, MakesMissingFolders) {
  EXPECT_EQ(
      told(write_files({{"out/figures/a.svg", "<svg/>"}, {"out/b.csv", "A"}}, Existing::refuse)),
      "done");
  EXPECT_EQ(names(), "out out/b.csv out/figures out/figures/a.svg");
}

TEST_F(FilesTest, KeepsPermissionsAndFollowsLinks) {
  fs::create_directory("real");
  put("real/a.csv", "old");
  ::chmod("real/a.csv", 0640);
  fs::create_symlink("real/a.csv", "a.csv");
  EXPECT_EQ(told(write_file("a.csv", "new", Existing::replace)), "done");
  EXPECT_TRUE(fs::is_symlink("a.csv"));
  EXPECT_EQ(get("real/a.csv"), "new");
  struct stat found {};
  ASSERT_EQ(::stat("real/a.csv", &found), 0);
  EXPECT_EQ(found.st_mode & 0777U, 0640U);
  EXPECT_EQ(names(), "a.csv real real/a.csv");
}

// Every operation is made to fail in turn, until a run needs no operation more.
class FaultsTest : public FilesTest, public testing::WithParamInterface<int> {};

TEST_P(FaultsTest, ANewFileIsThereWholeOrNotAtAll) {
  int n = 1;
  for (bool failed = true; failed; ++n) {
    ASSERT_LT(n, 100);
    FaultyFileSystem disk(n, GetParam());
    const auto result = write_file("out/a.csv", "hello world", Existing::refuse, disk);
    failed = disk.failed();
    if (result) {
      EXPECT_EQ(get("out/a.csv"), "hello world") << n;
      EXPECT_EQ(names(), "out out/a.csv") << n;
    } else {
      EXPECT_TRUE(failed) << n;
      EXPECT_EQ(names(), "") << n;
    }
    fs::remove_all("out");
  }
  EXPECT_GT(n, 6);  // folder, create, write, sync, close, link, remove, ...
}

TEST_P(FaultsTest, AnOldFileIsReplacedWholeOrNotAtAll) {
  int n = 1;
  std::set<std::string> met;
  for (bool failed = true; failed; ++n) {
    ASSERT_LT(n, 100);
    put("a.csv", "old");
    FaultyFileSystem disk(n, GetParam());
    const auto result = write_file("a.csv", "hello world", Existing::replace, disk);
    failed = disk.failed();
    met.insert(disk.what_failed());
    EXPECT_EQ(get("a.csv"), result ? "hello world" : "old") << n;
    EXPECT_EQ(names(), "a.csv") << n;
    // Content that may not have reached the disk is a failure, even if it can be read back now.
    const std::string& what = disk.what_failed();
    if (what == "write" || what == "sync" || what == "close") {
      EXPECT_FALSE(result) << what;
    }
  }
  for (const char* what : {"create", "write", "sync", "close", "rename", "sync_folder"}) {
    EXPECT_EQ(met.count(what), 1U) << what;
  }
}

TEST_P(FaultsTest, SeveralFilesAreWrittenTogetherOrNotAtAll) {
  for (const bool force : {false, true}) {
    int n = 1;
    for (bool failed = true; failed; ++n) {
      ASSERT_LT(n, 200);
      fs::remove_all("new");
      fs::remove("a.csv");
      if (force) put("a.csv", "old a");
      put("b.csv", "old b");
      if (!force) fs::remove("b.csv");
      FaultyFileSystem disk(n, GetParam());
      const auto result =
          write_files({{"a.csv", "new a"}, {"new/c.csv", "new c"}, {"b.csv", "new b"}},
                      force ? Existing::replace : Existing::refuse, disk);
      failed = disk.failed();
      if (result) {
        EXPECT_EQ(get("a.csv") + get("b.csv") + get("new/c.csv"), "new anew bnew c") << n;
        EXPECT_EQ(names(), "a.csv b.csv new new/c.csv") << n;
      } else {
        EXPECT_EQ(get("a.csv") + get("b.csv"), force ? "old aold b" : "(none)(none)") << n;
        EXPECT_EQ(names(), force ? "a.csv b.csv" : "") << n;
      }
    }
    fs::remove_all("new");
    fs::remove("a.csv");
    fs::remove("b.csv");
  }
}

TEST_P(FaultsTest, ADiskWithoutSecondNamesWillDo) {
  int n = 1;
  for (bool failed = true; failed; ++n) {
    ASSERT_LT(n, 100);
    FaultyFileSystem disk(n, GetParam(), false);
    const auto result = write_file("a.csv", "hello", Existing::refuse, disk);
    failed = disk.failed();
    EXPECT_EQ(get("a.csv"), result ? "hello" : "(none)") << n;
    EXPECT_EQ(names(), result ? "a.csv" : "") << n;
    fs::remove("a.csv");
  }
}

INSTANTIATE_TEST_SUITE_P(Errors, FaultsTest, testing::Values(ENOSPC, EIO));

TEST_F(FilesTest, AFileMadeInTheMeantimeIsNotReplaced) {
  // A disk on which someone else makes the file just before ours gets its name.
  class Racing final : public FileSystem {
   public:
    int create(const std::string& p, const std::string& l, int& h) override {
      return real_.create(p, l, h);
    }
    int write(int h, std::string_view b, std::size_t& w) override { return real_.write(h, b, w); }
    int sync(int h) override { return real_.sync(h); }
    int close(int h) override { return real_.close(h); }
    int rename(const std::string& a, const std::string& b) override { return real_.rename(a, b); }
    int link(const std::string& a, const std::string& b) override {
      put(b, "theirs");
      return real_.link(a, b);
    }
    int remove(const std::string& p) override { return real_.remove(p); }
    int make_folder(const std::string& p) override { return real_.make_folder(p); }
    int remove_folder(const std::string& p) override { return real_.remove_folder(p); }
    int sync_folder(const std::string& p) override { return real_.sync_folder(p); }
    PathKind kind(const std::string& p) override { return real_.kind(p); }

   private:
    FileSystem& real_ = real_file_system();
  } racing;
  EXPECT_FALSE(write_file("a.csv", "ours", Existing::refuse, racing));
  EXPECT_EQ(get("a.csv"), "theirs");
  EXPECT_EQ(names(), "a.csv");
}

}  // namespace
}  // namespace leafwright
