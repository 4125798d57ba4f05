from app.analysis.evidence.expectation import Expectation


def test_the_reserve_shortens_the_run_but_not_the_way_to_empty():
    expected = Expectation(rated_ah=100, reserve_share=0.2, mean_current_a=10)
    assert (expected.run_time_h, expected.run_time_to_empty_h) == (8, 10)
    assert expected.usable_ah == 80
    assert expected.remaining_ah(8) == 20
