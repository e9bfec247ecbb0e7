"""Shards of a run are joined: the same bytes as one run."""
import os
import signal
import time

import night
import support
from night import CSV_FILES, STUDY, start, wait_for
from support import read_bytes


class Shards(night.Journal):
    def run_shard(self, index, count=3):
        return self.run_it("run", STUDY, "--shard", f"{index}/{count}")

    def folders(self, *shards):
        return [f"out/shard-{i}-of-3" for i in shards]

    def test_together_they_are_one_run(self):
        for i in (1, 2, 3):
            done = self.run_shard(i)
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertIn(f"Shard {i} of 3 is done".encode(), done.stdout)
        done = self.run_it("merge", *self.folders(3, 1, 2), "--out", "joined")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assert_results("joined")
        counts = support.read_manifest(read_bytes(self.folder, "joined", "manifest.cfg").decode())["counts"]
        self.assertEqual(counts, self.counts)
        self.check_refusals()
        self.check_places()

    def check_refusals(self):
        merge = ["merge", "--out", "x"]
        self.assert_refused(self.run_it(*merge, *self.folders(3, 1)), 2, "of 3 shards one is missing: 2")
        self.assert_refused(self.run_it(*merge, *self.folders(1, 2, 3, 1)), 2,
                            "out/shard-1-of-3 and out/shard-1-of-3 both hold shard 1 of 3")
        self.assert_refused(self.run_it(*merge, *self.folders(1, 4)), 2, "no journal in out/shard-4-of-3")
        self.assert_refused(self.run_it(*merge, "--study", "single.cfg", *self.folders(1, 2, 3)), 2,
                            "cannot join the journal in out/shard-1-of-3: it is of another study")
        self.assertNotIn("x", os.listdir(self.folder))

    def check_places(self):
        """The study is found from elsewhere, and where it has gone."""
        os.mkdir(self.path("deep"))
        folders = [os.path.join("..", name) for name in self.folders(1, 2, 3)]
        done = support.run(["merge", *folders, "--out", "joined"], self.path("deep"))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assert_results("deep", "joined")
        os.rename(self.path(STUDY), self.path("gone.cfg"))
        merge = ["merge", *self.folders(1, 2, 3), "--out", "joined"]
        self.assert_refused(self.run_it(*merge), 3, STUDY)
        self.assertEqual(self.run_it(*merge, "--study", "gone.cfg").returncode, 0)
        self.assert_results("joined")

    def test_one_that_is_not_finished(self):
        with start(self.folder, "run", "wide.cfg", "--shard", "2/3", "--threads", "1", "--out", "part") as process:
            wait_for(self.path("part", "journal.db"))
            time.sleep(0.2)
            process.send_signal(signal.SIGINT)
            talk = process.stderr.read().decode()
        self.assertEqual(process.returncode, 130, talk)
        self.assertIn("--shard 2/3 --threads 1 --out part --resume", talk)
        self.assert_refused(self.run_it("merge", "part", "--out", "joined"), 2, "shard 2 of 3 in part is not finished")

    def test_odd_numbers(self):
        for text in ("0/3", "4/3", "1", "1/", "/3", "a/b", "1/3/3", "1/100001", "-1/3", "1/3x"):
            self.assert_refused(self.run_it("run", STUDY, "--shard", text), 2, f'--shard: found "{text}"')
        self.assert_refused(self.run_it("run", STUDY, "--resume", "--anew"), 2, "one of --resume and --anew")

    def test_more_shards_than_there_is_to_do(self):
        for i in range(1, 6):
            self.assertEqual(self.run_it("run", "single.cfg", "--shard", f"{i}/5", "--out", f"s{i}").returncode, 0)
        self.assertEqual(self.run_it("merge", "s1", "s2", "s3", "s4", "s5", "--out", "joined").returncode, 0)
        self.assertEqual(self.run_it("run", "single.cfg", "--out", "one").returncode, 0)
        self.assertFalse(os.path.exists(self.path("joined", "tradeoffs.csv")))
        for name in (name for name in CSV_FILES if name in support.FILES):
            self.assertEqual(read_bytes(self.folder, "one", name), read_bytes(self.folder, "joined", name))


class WithASearch(night.Searched):
    """The same with what comes after the sweep."""
    def test_merge_does_the_same(self):
        for i in (1, 2):
            self.assertEqual(self.run_it("run", self.study, "--shard", f"{i}/2", "--out", f"s{i}").returncode, 0)
        merge = ["merge", "s1", "s2", "--out", "joined"]
        self.interrupt_after_sweep(*merge)
        self.assert_refused(self.run_it(*merge), 2, "--resume")
        done = self.run_it(*merge, "--resume")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assert_whole("joined")
        self.assert_refused(self.run_it(*merge, "--resume", "--anew"), 2, "one of --resume and --anew")
        # The joined sweep is as good as one that was never cut.
        self.assertEqual(self.run_it("run", self.study, "--out", "joined", "--resume").returncode, 0)
        self.assert_whole("joined")


    def test_merge_into_a_shard_leaves_it_a_shard(self):
        for i in (1, 2):
            self.assertEqual(self.run_it("run", self.study, "--shard", f"{i}/2", "--out", f"s{i}").returncode, 0)
        for _ in range(2):
            done = self.run_it("merge", "s1", "s2", "--out", "s1")
            self.assertEqual(done.returncode, 0, done.stderr)
        self.assert_whole("s1")
